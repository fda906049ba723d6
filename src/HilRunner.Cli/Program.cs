using System.CommandLine;
using System.Text.RegularExpressions;
using HilRunner.Cli.Commands;
using HilRunner.Core;
using HilRunner.Core.Links;
using HilRunner.Engine.Shaking;

namespace HilRunner.Cli;

/// <summary>The command line: parses, runs one command, and turns what went wrong into a sentence and an exit code.</summary>
internal static partial class Program
{
    private const string NoCommand = "Required command was not provided.";

    /// <summary>How long an interrupted command may take to keep what it has: a run is concluded and reported.</summary>
    private static readonly TimeSpan s_tidyUp = TimeSpan.FromSeconds(60);

    private static Task<int> Main(string[] args) => RunAsync(args);

    /// <summary>One command from its words to its exit code. Keeps nothing: several may run in one process at once, as the tests do.</summary>
    internal static async Task<int> RunAsync(string[] args)
    {
        var root = new RootCommand("Plays recorded motion into a device that classifies it, listens, scores, decides.")
        {
            RunCommand.Create(),
            SweepCommand.Create(),
            ScoreCommand.Create(),
            ImportCommand.Create(),
            CompareCommand.Create(),
            AcceptCommand.Create(),
            HistoryCommand.Create(),
            ReportCommand.Create(),
            ReproduceCommand.Create(),
            InspectCommand.Create(),
            CheckCommand.Create(),
            PortsCommand.Create(),
            ListenCommand.Create(),
            RecordCommand.Create(),
            DeviceCommand.Create(),
            ShakerCommand.Create(),
            PlayerCommand.Create(),
        };
        ParseResult parsed = root.Parse(args);
        if (parsed.Errors.Count > 0)
        {
            var told = parsed.Errors.Select(e => Said(e.Message)).Where(m => m != NoCommand || parsed.Errors.Count == 1);
            foreach (string message in told) { Console.Error.WriteLine($"hil: {message}"); }
            Console.Error.WriteLine($"hil: see 'hil {CommandPath(parsed)}--help'");
            return ExitCodes.Usage;
        }
        if (parsed.CommandResult.Tokens.FirstOrDefault(t => t.Value.StartsWith("--", StringComparison.Ordinal)) is { } unknown)
        {
            Console.Error.WriteLine($"hil: unknown option {Printable(unknown.Value)}");
            Console.Error.WriteLine($"hil: see 'hil {CommandPath(parsed)}--help'");
            return ExitCodes.Usage;
        }
        try
        {
            return await parsed.InvokeAsync(new InvocationConfiguration { EnableDefaultExceptionHandler = false, ProcessTerminationTimeout = s_tidyUp }).ConfigureAwait(false);
        }
        catch (Exception fault)
        {
            return Report(fault);
        }
    }

    private static int Report(Exception fault)
    {
        switch (fault)
        {
            case UsageException usage:
                Console.Error.WriteLine($"hil: {Printable(usage.Message)}");
                return ExitCodes.Usage;
            case BadInputException input:
                foreach (var one in input.Faults) { Console.Error.WriteLine(Printable(one.ToString())); }
                return ExitCodes.BadInput;
            case OperationCanceledException:
                Console.Error.WriteLine("hil: interrupted");
                return ExitCodes.Interrupted;
            case ShakerException or LinkException or IOException or UnauthorizedAccessException or InvalidDataException:
                Console.Error.WriteLine($"hil: {Printable(fault.Message)}");
                return ExitCodes.Error;
            default:
                Console.Error.WriteLine($"hil: this is a fault of the tool itself, please report it with what follows: {fault}");
                return ExitCodes.Error;
        }
    }

    /// <summary>What files and devices say may hold anything: control characters must not reach the terminal.</summary>
    private static string Printable(string text) =>
        string.Concat(text.Select(c => char.IsControl(c) && c != '\n' ? $"\\u{(int)c:x4}" : c.ToString()));

    /// <summary>The parser's message, with the type it wanted in words.</summary>
    private static string Said(string message) =>
        WantedType().Replace(message, m => m.Value.Contains("Int", StringComparison.Ordinal) ? ": expected a whole number" : ": expected another kind of value");

    [GeneratedRegex(@" as expected type '[^']*'\.?")]
    private static partial Regex WantedType();

    private static string CommandPath(ParseResult parsed) =>
        parsed.CommandResult.Command is RootCommand ? "" : parsed.CommandResult.Command.Name + " ";
}
