using System.ComponentModel;
using System.Diagnostics;
using HilRunner.Core.Links;
using HilRunner.Core.Rigs;
using HilRunner.Engine.Instruments;
using HilRunner.Transport.Ports;
using Polly;
using Polly.Retry;

namespace HilRunner.Application.Benches;

/// <summary>Does a rig's steps: programs (flash, power-cycle), without a shell, each placeholder one argument; and switching its supply.</summary>
/// <param name="image">Stands for {image}; null: no --image was given.</param>
/// <param name="log">Told what was run, and what it printed.</param>
internal sealed class PrepareSteps(JobContext context, Rig rig, string? image, Action<string> log, CancellationToken stop)
{
    private const int ShownLines = 5;
    private static readonly TimeSpan s_betweenTries = TimeSpan.FromSeconds(1), s_look = TimeSpan.FromMilliseconds(100);
    private string? _kept;

    /// <summary>Reads the image on the device into a file.</summary>
    /// <exception cref="IOException">It could not be read.</exception>
    public void ReadBack(ProgramStep step, string into)
    {
        _kept = into;
        Run(step);
    }

    /// <exception cref="IOException">A program could not be started, failed, or took too long, in every try: says which, and its last lines.</exception>
    /// <exception cref="LinkException">The port did not come back, {port} is wanted and there is none, or the supply cannot be switched.</exception>
    public void Do(IReadOnlyList<PrepareStep> steps)
    {
        foreach (var step in steps)
        {
            switch (step)
            {
                case ProgramStep program: Pipeline<IOException>(step.Retries, s_betweenTries).Execute(() => Run(program)); break;
                case SupplyStep supply: Pipeline<LinkException>(step.Retries, s_betweenTries).Execute(() => Switch(supply)); break;
            }
            if (step.Port > TimeSpan.Zero) { AwaitPort(step.Port); }
        }
    }

    private void Switch(SupplyStep step)
    {
        Supply supply = rig.Supply!;
        log($"supply: {step.Action.ToString().ToLowerInvariant()}\n");
        using var session = new ScpiSession(context.Links.Open(supply.Link), context.Clock, line => log(line + "\n"));
        session.Start();
        if (step.Action != SupplyAction.On) { SupplySwitch.Off(supply, session); }
        if (step.Action == SupplyAction.Cycle && stop.WaitHandle.WaitOne(step.OffFor)) { stop.ThrowIfCancellationRequested(); }
        if (step.Action != SupplyAction.Off) { SupplySwitch.On(supply, session); }
    }

    private void AwaitPort(TimeSpan limit)
    {
        int looks = (int)(limit / s_look);
        string path = Pipeline<LinkException>(looks, s_look).Execute(Port);
        log($"port: {path}\n");
    }

    private ResiliencePipeline Pipeline<TFault>(int retries, TimeSpan delay) where TFault : Exception => retries == 0 ? ResiliencePipeline.Empty
        : new ResiliencePipelineBuilder { TimeProvider = context.Clock.Provider }
            .AddRetry(new RetryStrategyOptions
            {
                ShouldHandle = new PredicateBuilder().Handle<TFault>(_ => !stop.IsCancellationRequested), MaxRetryAttempts = retries, Delay = delay,
            })
            .Build();

    /// <summary>Where the rig's port is now: a board that was plugged in again may have another path.</summary>
    private string Port()
    {
        string named = rig.Device.Link switch
        {
            SerialLinkSpec serial => PortSelector.Resolve(serial.Port, new PortLister()),
            PtyLinkSpec pty => pty.Path,
            _ => throw new LinkException(LinkFault.WrongKind, $"prepare: rig {rig.Name} has no serial port; {{port}} and port: need one"),
        };
        return File.Exists(named) ? named : throw new LinkException(LinkFault.Missing, $"prepare: {named} is not there; plug the board in, or correct the port in the rig file");
    }

    private string Filled(string text)
    {
        text = text.Replace("{rig}", rig.Name, StringComparison.Ordinal);
        if (image is not null) { text = text.Replace("{image}", image, StringComparison.Ordinal); }
        if (_kept is not null) { text = text.Replace("{kept}", _kept, StringComparison.Ordinal); }
        return text.Contains("{port}", StringComparison.Ordinal) ? text.Replace("{port}", Port(), StringComparison.Ordinal) : text;
    }

    private void Run(ProgramStep command)
    {
        string[] words = [.. command.Words.Select(Filled)];
        string name = string.Join(' ', words);
        // A board that is half flashed is worse than a late end: what erases is let finish, within its limit.
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(command.Erases == Erasure.Nothing ? stop : CancellationToken.None);
        limit.CancelAfter(command.Limit);
        log($"$ {name}\n");
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
                stop.ThrowIfCancellationRequested();
                throw new IOException($"prepare: '{name}' took longer than {command.Limit.TotalSeconds:0.###} s and was ended; the rig is not prepared");
            }
            string said = output.Result + errors.Result;
            log($"{said}exit code {process.ExitCode}\n");
            stop.ThrowIfCancellationRequested();
            if (process.ExitCode == 0) { return; }
            var last = said.Split('\n', StringSplitOptions.RemoveEmptyEntries).TakeLast(ShownLines);
            string ends = string.Join(" | ", last.Select(l => l.Trim()));
            throw new IOException(
                $"prepare: '{name}' failed with exit code {process.ExitCode}; the rig is not prepared{(ends.Length > 0 ? $"; it said last: {ends}" : "")}");
        }
        catch (Win32Exception fault) { throw new IOException($"prepare: '{name}' could not be started: {fault.Message}", fault); }
    }
}
