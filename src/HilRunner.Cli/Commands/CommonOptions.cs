using System.CommandLine;
using HilRunner.Cli.Histories;

namespace HilRunner.Cli.Commands;

/// <summary>Options that several commands have, with one meaning.</summary>
internal static class CommonOptions
{
    public static Option<string?> History { get; } = new("--history")
    {
        Description = $"Where history is kept: a file, or postgres://USER@HOST/DATABASE. Default: {HistoryBook.Variable}, else history.db beside the runs.",
    };
}
