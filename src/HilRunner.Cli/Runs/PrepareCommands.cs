using System.ComponentModel;
using System.Diagnostics;
using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Rigs;
using HilRunner.Transport.Ports;
using Polly;
using Polly.Retry;

namespace HilRunner.Cli.Runs;

/// <summary>Runs a rig's prepare commands (flash, power-cycle) before anything is played: without a shell, each placeholder one argument.</summary>
internal sealed class PrepareCommands
{
    private const int ShownLines = 5;
    private static readonly TimeSpan s_betweenTries = TimeSpan.FromSeconds(1), s_look = TimeSpan.FromMilliseconds(100);
    private readonly StringBuilder _log = new();
    private readonly Rig _rig;
    private readonly string? _image;
    private readonly CancellationToken _stop;

    private PrepareCommands(Rig rig, string? image, CancellationToken stop) => (_rig, _image, _stop) = (rig, image, stop);

    /// <param name="image">Stands for {image}; null: no --image was given.</param>
    /// <returns>What was run and what it printed.</returns>
    /// <exception cref="UsageException">A command needs {image} and there is none.</exception>
    /// <exception cref="IOException">A command could not be started, failed, or took too long, in every try: says which, and its last lines.</exception>
    /// <exception cref="LinkException">The port did not come back, or {port} is wanted and there is none.</exception>
    public static string Run(Rig rig, string? image, CancellationToken stop)
    {
        if (image is null && rig.Prepare.Any(c => c.Arguments.Prepend(c.Program).Any(a => a.Contains("{image}", StringComparison.Ordinal))))
        {
            throw new UsageException("this rig's prepare commands need the firmware image: give --image FILE");
        }
        var commands = new PrepareCommands(rig, image, stop);
        foreach (var command in rig.Prepare)
        {
            commands.Retried(command);
            if (command.Port > TimeSpan.Zero) { commands.AwaitPort(command.Port); }
        }
        return commands._log.ToString();
    }

    private void Retried(PrepareCommand command) => Pipeline<IOException>(command.Retries, s_betweenTries).Execute(() => Run(command));

    private void AwaitPort(TimeSpan limit)
    {
        int looks = (int)(limit / s_look);
        string path = Pipeline<LinkException>(looks, s_look).Execute(Port);
        _log.Append(System.Globalization.CultureInfo.InvariantCulture, $"port: {path}\n");
    }

    private ResiliencePipeline Pipeline<TFault>(int retries, TimeSpan delay) where TFault : Exception => retries == 0 ? ResiliencePipeline.Empty
        : new ResiliencePipelineBuilder { TimeProvider = Composition.Clock.Provider }
            .AddRetry(new RetryStrategyOptions
            {
                ShouldHandle = new PredicateBuilder().Handle<TFault>(_ => !_stop.IsCancellationRequested), MaxRetryAttempts = retries, Delay = delay,
            })
            .Build();

    /// <summary>Where the rig's port is now: a board that was plugged in again may have another path.</summary>
    private string Port()
    {
        string named = _rig.Device.Link switch
        {
            SerialLinkSpec serial => PortSelector.Resolve(serial.Port, new PortLister()),
            PtyLinkSpec pty => pty.Path,
            _ => throw new LinkException(LinkFault.WrongKind, $"prepare: rig {_rig.Name} has no serial port; {{port}} and port: need one"),
        };
        return File.Exists(named) ? named : throw new LinkException(LinkFault.Missing, $"prepare: {named} is not there; plug the board in, or correct the port in the rig file");
    }

    private string Filled(string text)
    {
        text = text.Replace("{rig}", _rig.Name, StringComparison.Ordinal);
        if (_image is not null) { text = text.Replace("{image}", _image, StringComparison.Ordinal); }
        return text.Contains("{port}", StringComparison.Ordinal) ? text.Replace("{port}", Port(), StringComparison.Ordinal) : text;
    }

    private void Run(PrepareCommand command)
    {
        string[] words = [.. command.Arguments.Prepend(command.Program).Select(Filled)];
        string name = string.Join(' ', words);
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(_stop);
        limit.CancelAfter(command.Limit);
        _log.Append(System.Globalization.CultureInfo.InvariantCulture, $"$ {name}\n");
        try
        {
            var start = new ProcessStartInfo(words[0], words[1..])
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
                _stop.ThrowIfCancellationRequested();
                throw new IOException($"prepare: '{name}' took longer than {command.Limit.TotalSeconds:0.###} s and was ended; the rig is not prepared");
            }
            string said = output.Result + errors.Result;
            _log.Append(said).Append(System.Globalization.CultureInfo.InvariantCulture, $"exit code {process.ExitCode}\n");
            if (process.ExitCode == 0) { return; }
            var last = said.Split('\n', StringSplitOptions.RemoveEmptyEntries).TakeLast(ShownLines);
            throw new IOException($"prepare: '{name}' failed with exit code {process.ExitCode}; the rig is not prepared{string.Concat(last.Select(l => "\n  " + l))}");
        }
        catch (Win32Exception fault) { throw new IOException($"prepare: '{name}' could not be started: {fault.Message}", fault); }
    }
}
