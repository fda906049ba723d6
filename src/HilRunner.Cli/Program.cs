using System.CommandLine;
using HilRunner.Cli.Commands;
using HilRunner.Core;
using HilRunner.Core.Links;

namespace HilRunner.Cli;

/// <summary>The command line: parses, runs one command, and turns what went wrong into a sentence and an exit code.</summary>
internal static class Program
{
    /// <summary>How long an interrupted command may take to keep what it has: a run is concluded and reported.</summary>
    private static readonly TimeSpan s_tidyUp = TimeSpan.FromSeconds(60);

    private static async Task<int> Main(string[] args)
    {
        var root = new RootCommand("Plays recorded motion into a device that classifies it, listens, scores, decides.")
        {
            RunCommand.Create(),
            ScoreCommand.Create(),
            ReportCommand.Create(),
            CheckCommand.Create(),
            PortsCommand.Create(),
            ListenCommand.Create(),
            DeviceCommand.Create(),
            PlayerCommand.Create(),
        };
        ParseResult parsed = root.Parse(args);
        if (parsed.Errors.Count > 0)
        {
            foreach (var error in parsed.Errors) { Console.Error.WriteLine($"hil: {error.Message}"); }
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
                Console.Error.WriteLine($"hil: {usage.Message}");
                return ExitCodes.Usage;
            case BadInputException input:
                foreach (var one in input.Faults) { Console.Error.WriteLine(one); }
                return ExitCodes.BadInput;
            case OperationCanceledException:
                Console.Error.WriteLine("hil: interrupted");
                return ExitCodes.Interrupted;
            case LinkException or IOException or UnauthorizedAccessException or InvalidDataException:
                Console.Error.WriteLine($"hil: {fault.Message}");
                return ExitCodes.Error;
            default:
                Console.Error.WriteLine($"hil: this is a fault of the tool itself, please report it with what follows: {fault}");
                return ExitCodes.Error;
        }
    }

    private static string CommandPath(ParseResult parsed) =>
        parsed.CommandResult.Command is RootCommand ? "" : parsed.CommandResult.Command.Name + " ";
}
