using System.CommandLine;
using HilRunner.Application.Histories;

namespace HilRunner.Cli.Commands;

/// <summary>Options that several commands have, with one meaning.</summary>
internal static class CommonOptions
{
    public static Option<string?> History { get; } = new("--history")
    {
        Description = $"Where history is kept: a file, or postgres://USER@HOST/DATABASE. Default: {HistoryBook.Variable}, else history.db beside the runs.",
    };

    /// <summary>Nothing else starts a program of a stored run.</summary>
    public static Option<bool> RunAdapter { get; } = new("--run-adapter")
    {
        Description = "Start the adapter program that a stored run's run.yaml names, and decode its capture anew. Without it no program is started. Look at the program first: it runs with your rights.",
    };
}
