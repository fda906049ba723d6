using System.CommandLine;
using System.CommandLine.Invocation;
using System.Text.RegularExpressions;
using HilRunner.Application.Histories;
using HilRunner.Application;
using HilRunner.Cli.Commands;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core;
using HilRunner.Core.Files;
using HilRunner.Core.Links;
using HilRunner.Engine.Shaking;

namespace HilRunner.Cli;

/// <summary>The command line: parses, runs one command, and turns what went wrong into a sentence and an exit code.</summary>
internal static partial class Program
{
    private const string NoCommand = "Required command was not provided.";

    /// <summary>How long an interrupted command may take to keep what it has: a run is concluded and reported.</summary>
    private static readonly TimeSpan s_tidyUp = TimeSpan.FromSeconds(60);

    /// <summary>Values are taken as they are: a label that begins with @ is no file of more options.</summary>
    private static readonly ParserConfiguration s_parser = new() { ResponseFileTokenReplacer = null };

    private static async Task<int> Main(string[] args)
    {
        // Before anything else, since anything else opens more of them.
        if (OpenFiles.Shortage() is { } shortage)
        {
            Console.Error.WriteLine($"hil: {shortage}");
            return ExitCodes.Error;
        }
        Terminal.Install();
        int code = await RunAsync(args).ConfigureAwait(false);
        if (Terminal.Missing is not { } why) { return code; }
        Console.Error.WriteLine($"hil: not all could be printed: {why}");
        return code == ExitCodes.Pass ? ExitCodes.Error : code;
    }

    /// <summary>
    /// One command from its words to its exit code. Keeps nothing: several may run in one process at once, as the tests do.
    /// </summary>
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
        };
        ParseResult parsed = root.Parse(args, s_parser);
        if (parsed.Errors.Count > 0)
        {
            var told = parsed.Errors.Select(e => Said(e.Message)).Where(m => m != NoCommand || parsed.Errors.Count == 1);
            foreach (string message in told) { Console.Error.WriteLine($"hil: {message}"); }
            Console.Error.WriteLine($"hil: see 'hil {CommandPath(parsed)}--help'");
            return ExitCodes.Usage;
        }
        if (parsed.CommandResult.Tokens.FirstOrDefault(t => t.Value.StartsWith("--", StringComparison.Ordinal)) is { } unknown)
        {
            Console.Error.WriteLine($"hil: unknown option {unknown.Value}");
            Console.Error.WriteLine($"hil: see 'hil {CommandPath(parsed)}--help'");
            return ExitCodes.Usage;
        }
        // A command that cannot be interrupted ends as the system ends it.
        using var hangUp = parsed.Action is AsynchronousCommandLineAction ? new HangUp(s_tidyUp) : null;
        Name(parsed);
        try
        {
            var invocation = new InvocationConfiguration { EnableDefaultExceptionHandler = false,
                ProcessTerminationTimeout = s_tidyUp, Output = Terminal.Documents, Error = Terminal.ErrorDocuments };
            return await parsed.InvokeAsync(invocation, hangUp?.Token ?? CancellationToken.None).ConfigureAwait(false);
        }
        catch (Exception fault)
        {
            return Report(fault);
        }
    }

    /// <summary>
    /// What the command line names, and what its options stand for unless they are given: inside such folders no link is
    /// followed.
    /// </summary>
    private static void Name(ParseResult parsed)
    {
        foreach (var token in parsed.CommandResult.Tokens) { NamedFolders.Add(token.Value); }
        foreach (var option in parsed.CommandResult.Command.Options)
        {
            if (option.ValueType == typeof(string) && !option.Required && parsed.GetValue<string>(option.Name) is { } value)
            {
                NamedFolders.Add(value);
            }
            foreach (var token in parsed.GetResult(option)?.Tokens ?? []) { NamedFolders.Add(token.Value); }
        }
        if (Environment.GetEnvironmentVariable(HistoryBook.Variable) is { } history) { NamedFolders.Add(history); }
    }

    private static int Report(Exception fault)
    {
        switch (fault)
        {
            case UsageException usage:
                Console.Error.WriteLine($"hil: {usage.Message}");
                return ExitCodes.Usage;
            case BadInputException input:
                foreach (var one in input.Faults) { Console.Error.WriteLine(one.ToString()); }
                return ExitCodes.BadInput;
            case OperationCanceledException:
                Console.Error.WriteLine("hil: interrupted");
                return ExitCodes.Interrupted;
            case ShakerException or LinkException or IOException or UnauthorizedAccessException or InvalidDataException:
                Console.Error.WriteLine($"hil: {fault.Message}");
                return ExitCodes.Error;
            default:
                Console.Error.WriteLine(
                    $"hil: this is a fault of the tool itself, please report it with what follows: {fault.GetType()}: {fault.Message}");
                Terminal.ErrorDocuments.WriteLine(fault.StackTrace);
                return ExitCodes.Error;
        }
    }

    /// <summary>The parser's message, with the type it wanted in words.</summary>
    private static string Said(string message) =>
        WantedType().Replace(message, m => m.Value.Contains("Int", StringComparison.Ordinal) ? ": expected a whole number" : ": expected another kind of value");

    [GeneratedRegex(@" as expected type '[^']*'\.?")]
    private static partial Regex WantedType();

    private static string CommandPath(ParseResult parsed) =>
        parsed.CommandResult.Command is RootCommand ? "" : parsed.CommandResult.Command.Name + " ";
}
