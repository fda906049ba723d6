using System.ComponentModel;
using System.Diagnostics;
using HilRunner.Core.Rigs;

namespace HilRunner.Cli.Runs;

/// <summary>Runs a rig's prepare commands (flash, power-cycle) before anything is played: without a shell, each placeholder one argument.</summary>
internal static class PrepareCommands
{
    private const int ShownLines = 5;

    /// <param name="image">Stands for {image}; null: no --image was given.</param>
    /// <exception cref="UsageException">A command needs {image} and there is none.</exception>
    /// <exception cref="IOException">A command could not be started, failed, or took too long: says which, and its last lines.</exception>
    public static void Run(IReadOnlyList<PrepareCommand> commands, string? image, CancellationToken stop)
    {
        if (image is null && commands.Any(c => c.Arguments.Prepend(c.Program).Any(a => a.Contains("{image}", StringComparison.Ordinal))))
        {
            throw new UsageException("this rig's prepare commands need the firmware image: give --image FILE");
        }
        foreach (var command in commands) { Run(command, image, stop); }
    }

    private static void Run(PrepareCommand command, string? image, CancellationToken stop)
    {
        string Filled(string text) => text.Replace("{image}", image, StringComparison.Ordinal);
        string name = string.Join(' ', command.Arguments.Prepend(command.Program).Select(Filled));
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(stop);
        limit.CancelAfter(command.Limit);
        try
        {
            var start = new ProcessStartInfo(Filled(command.Program), command.Arguments.Select(Filled))
            {
                RedirectStandardInput = true,
                RedirectStandardOutput = true,
                RedirectStandardError = true,
            };
            using Process process = Process.Start(start)!;
            process.StandardInput.Close();
            var output = process.StandardOutput.ReadToEndAsync(limit.Token);
            var errors = process.StandardError.ReadToEndAsync(limit.Token);
            try { Task.WhenAll(output, errors, process.WaitForExitAsync(limit.Token)).GetAwaiter().GetResult(); }
            catch (OperationCanceledException)
            {
                process.Kill(entireProcessTree: true);
                stop.ThrowIfCancellationRequested();
                throw new IOException($"prepare: '{name}' took longer than {command.Limit.TotalSeconds:0.###} s and was ended; the rig is not prepared");
            }
            if (process.ExitCode == 0) { return; }
            var last = (output.Result + errors.Result).Split('\n', StringSplitOptions.RemoveEmptyEntries).TakeLast(ShownLines);
            throw new IOException($"prepare: '{name}' failed with exit code {process.ExitCode}; the rig is not prepared{string.Concat(last.Select(l => "\n  " + l))}");
        }
        catch (Win32Exception fault) { throw new IOException($"prepare: '{name}' could not be started: {fault.Message}", fault); }
    }
}
