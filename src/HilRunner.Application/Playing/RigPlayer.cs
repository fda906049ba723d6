using System.Text;
using HilRunner.Application.Batches;
using HilRunner.Application.Benches;
using HilRunner.Application.Stored;
using HilRunner.Core.Files;
using HilRunner.Core.Messages;
using HilRunner.Core.Capture;
using HilRunner.Core.Links;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Engine.Directing;
using HilRunner.Engine.Plans;
using HilRunner.Engine.Playing;
using HilRunner.Engine.Reviewing;
using HilRunner.Reporting;
using Serilog;
using Serilog.Core;

namespace HilRunner.Application.Playing;

/// <summary>What a call of <c>hil run</c> plays on, and how.</summary>
internal sealed record BatchOptions(PlayedRig On, string? LinkUrl, string Speed, string OutputFolder, BuildIdentity Build, string? Image, bool Bell)
{
    public Rig Rig => On.Rig;
}

/// <summary>One rig with its player process: prepares a run's folder, hands the plan over, concludes.</summary>
internal sealed class RigPlayer(BatchOptions options, JobContext context, IPlayView view) : IDisposable
{
    private readonly IDeviceFormat _format = context.Formats.Create(options.Rig.Device);
    private readonly IReadOnlyDictionary<string, string> _expected = ExpectedBuild.Of(options.Rig.Device.Identity, options.Build);
    private readonly Logger _log = new LoggerConfiguration().WriteTo.Sink(
        new LogSink(Path.Combine(options.OutputFolder, $"rig-{Slug.Of(options.Rig.Name)}.clef"))).CreateLogger();
    private readonly AdapterLeave _leave = AdapterLeave.For([options.On.Document]);
    private PlayerProcess? _player;
    private IKeys? _keys;

    public Rig Rig => options.Rig;

    /// <summary>From now on a person's keys are heard.</summary>
    public void StartKeys() => _keys ??= context.Operator.Keys();

    public void Dispose()
    {
        LeavePort();
        _format.Dispose();
        _log.Dispose();
    }

    /// <summary>One rung of bringing the rig back: the port is let go of, so that its programs can have it. The next run opens it again.</summary>
    /// <exception cref="IOException">A step failed: the rig is not back.</exception>
    /// <exception cref="LinkException">Likewise.</exception>
    public void BringBack(StoredRun spoiled, string rung, IReadOnlyList<PrepareStep> steps, CancellationToken stop)
    {
        string reason = spoiled.Score.Reasons.Count > 0 ? spoiled.Score.Reasons[0] : spoiled.Manifest.EndCause ?? "";
        _log.Warning("Spoiled {Run}: {Reason}; {Rung}", spoiled.Manifest.Id, reason, rung.Length == 0 ? "played again" : rung);
        view.Tell($"rig {Rig.Name}: {reason}; {(rung.Length == 0 ? "it is played again" : rung + ", then it is played again")}");
        if (steps.Count == 0) { return; }
        LeavePort();
        var said = new StringBuilder($"rig {Rig.Name}: {rung} after {spoiled.Manifest.Id}\n");
        try { new PrepareSteps(context, Rig, options.Image, text => said.Append(text), stop).Do(steps); }
        finally { PlainFile.AppendText(Path.Combine(options.OutputFolder, BatchFolder.Prepared), said.ToString()); }
    }

    /// <summary>A run that is not played, since its rig could not be brought back: its folder says why.</summary>
    public StoredRun LeaveOut(BatchItem item, int number, string why)
    {
        string folder = Folder(item, number);
        var preparation = new RunPreparation(context, options.Rig, options.On.Document, _format, options.Speed, options.Build);
        preparation.Prepare(item, folder, options.LinkUrl ?? LinkNames.Of(options.Rig.Device.Link));
        using (ICaptureWriter capture = context.Captures.Create(Path.Combine(folder, RunFiles.Capture), context.Clock))
        {
            capture.Event(context.Clock.Now, RunEventNames.Ended, ("cause", EndCause.NotPlayed), ("sent", "0"), ("message", why));
        }
        return Finish(item, RunConclusion.Conclude(context, folder, _leave), EndCause.NotPlayed, why);
    }

    /// <param name="number">Of the run's folder.</param>
    public async Task<StoredRun> PlayAsync(BatchItem item, int number, CancellationToken stop)
    {
        string folder = Folder(item, number);
        var preparation = new RunPreparation(context, options.Rig, options.On.Document, _format, options.Speed, options.Build);
        var (_, plan) = preparation.Prepare(item, folder, options.LinkUrl ?? LinkNames.Of(options.Rig.Device.Link));
        _log.Information("Playing {Run}: {Scenario} repeat {Repeat} at speed {Speed}", Path.GetFileName(folder), item.Scenario.Name, item.Repeat, options.Speed);
        if (_player is null or { HasExited: true })
        {
            _player?.Dispose();
            _player = PlayerProcess.Start(
                context.PlayerCommandLine, new PlayerOrder(options.On.Document.Path, options.On.Document.Text, options.LinkUrl,
                    context.Clock.UnixAtZeroNs));
            _log.Information("Player process {Id} started", _player.Id);
        }
        plan = plan with { Expected = _expected };
        string cause, message;
        if (item.Mover is { } make)
        {
            using var ended = CancellationTokenSource.CreateLinkedTokenSource(stop);
            using var mover = make(folder);
            using var shown = view.Follow(item, mover);
            if (item.OnTable is { } table) { view.Tell(FormattableString.Invariant($"{item.Place.Number}/{item.Place.Of}  {item.Scenario.Name} ({item.Repeat}): the table moves for {table.Built.Motion.Length.TotalSeconds:0} s")); }
            (cause, message) = await mover.RunAsync(_player.PlayAsync(plan, ended.Token), ended.Cancel).ConfigureAwait(false);
        }
        else if (item.ByHand is { } schedule)
        {
            using var session = new HandSession(context, schedule, _format, folder, _keys!, view.ByHand(), options.Bell);
            (cause, message) = await session.RunAsync(_player.PlayAsync(plan, stop)).ConfigureAwait(false);
        }
        else
        {
            using var follower = new RunFollower(context.Captures, plan, _format, Path.Combine(folder, RunFiles.Capture));
            using var shown = view.Follow(item, follower);
            (cause, message) = await _player.PlayAsync(plan, stop).ConfigureAwait(false);
        }
        StoredRun run = RunConclusion.Conclude(context, folder, _leave);
        if (run.StillSilent)
        {
            await ReviveAsync(folder, stop).ConfigureAwait(false);
            run = RunConclusion.Conclude(context, folder, _leave);
        }
        return Finish(item, run, cause, message);
    }

    /// <summary>
    /// Resets a silent device from outside, then cycles its power, while its link stays open, and asks it each time: only an
    /// answer shows that the silence was its own. Steps that want the port cannot be done then; they are left to bringing the rig
    /// back.
    /// </summary>
    private async Task ReviveAsync(string folder, CancellationToken stop)
    {
        int number = 0;
        foreach (var (by, steps) in ((string, IReadOnlyList<PrepareStep>)[])[(RevivalBy.Reset, Rig.Recovery.Reset),
            (RevivalBy.PowerCycle, Rig.Recovery.PowerCycle)])
        {
            if (steps.Count == 0 || stop.IsCancellationRequested || steps.Any(NeedsPort)) { continue; }
            view.Tell($"rig {Rig.Name}: the device is silent; {by} while its port stays open, to see whether it answers");
            try
            {
                new PrepareSteps(context, Rig, options.Image,
                    text => PlainFile.AppendText(Path.Combine(options.OutputFolder, BatchFolder.Prepared), text), stop).Do(steps);
            }
            catch (Exception fault) when (fault is IOException or LinkException or OperationCanceledException)
            {
                view.Tell(fault.Message);
                continue;
            }
            string capture = RunFiles.Revival(++number);
            await _player!.PlayAsync(PlayPlan.Ask(folder, by, capture), stop).ConfigureAwait(false);
            // A player that is gone, or a full disk, leaves none: then nothing is known, as before.
            if (!PlainFile.IsThere(Path.Combine(folder, capture))) { return; }
            using var said = context.Captures.Open(Path.Combine(folder, capture));
            if (Revivals.Read(said).Any(r => r.Answered)) { return; }
        }
    }

    private static bool NeedsPort(PrepareStep step) =>
        step is ProgramStep program && program.Words.Any(w => w.Contains("{port}", StringComparison.Ordinal));

    private StoredRun Finish(BatchItem item, StoredRun run, string cause, string message)
    {
        string folder = run.Folder;
        using var log = new LoggerConfiguration().WriteTo.Logger(
            _log).WriteTo.Sink(new LogSink(Path.Combine(folder, RunFiles.Log))).CreateLogger();
        log.Information("Ended {Run} ({Scenario} repeat {Repeat} on {Rig} at speed {Speed}): {Cause} {Message}", Path.GetFileName(folder), item.Scenario.Name, item.Repeat, Rig.Name, options.Speed, cause, message);
        run = RunConclusion.Seal(run, cause, context.Now);
        RunConclusion.WriteReport(run);
        log.Information("Verdict {Verdict}: {Reasons}", run.Score.Verdict, run.Score.Reasons);
        view.Show(run, item);
        return run.WithoutCurves();
    }

    private string Folder(BatchItem item, int number) => Path.Combine(options.OutputFolder, $"{number:000}-{Slug.Of(item.Scenario.Name)}-{item.Repeat}");

    private void LeavePort()
    {
        _player?.Dispose();
        _player = null;
    }
}
