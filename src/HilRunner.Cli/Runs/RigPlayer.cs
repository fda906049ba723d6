using HilRunner.Cli.Recorders;
using HilRunner.Cli.Screen;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Engine.Directing;
using HilRunner.Engine.Plans;
using HilRunner.Reporting;
using Serilog;
using Serilog.Formatting.Compact;

namespace HilRunner.Cli.Runs;

/// <summary>A rig with the file that describes it.</summary>
internal sealed record PlayedRig(Rig Rig, SourceDocument Document);

/// <summary>What a call of <c>hil run</c> plays on, and how.</summary>
internal sealed record BatchOptions(PlayedRig On, string? LinkUrl, string Speed, string OutputFolder, BuildIdentity Build, bool Bell)
{
    public Rig Rig => On.Rig;
}

/// <summary>One rig with its player process: prepares a run's folder, hands the plan over, concludes.</summary>
internal sealed class RigPlayer(BatchOptions options, RunScreen screen) : IDisposable
{
    private readonly IDeviceFormat _format = Composition.Formats.Create(options.Rig.Device);
    private readonly KeyReader _keys = new();
    private readonly IReadOnlyDictionary<string, string> _expected = ExpectedBuild.Of(options.Rig.Device.Identity, options.Build);
    private PlayerProcess? _player;

    public string RigName => options.Rig.Name;

    public void StartKeys() => _keys.Start();

    public void Dispose()
    {
        _player?.Dispose();
        _format.Dispose();
    }

    /// <param name="number">Of the run's folder.</param>
    /// <param name="total">Runs of the batch.</param>
    public async Task<StoredRun> PlayAsync(BatchItem item, int number, int total, CancellationToken stop)
    {
        string folder = Path.Combine(options.OutputFolder, $"{number:000}-{Slug.Of(item.Scenario.Name)}-{item.Repeat}");
        var preparation = new RunPreparation(options.Rig, options.On.Document, _format, options.Speed, options.Build);
        var (_, plan) = preparation.Prepare(item, folder, options.LinkUrl ?? LinkNames.Of(options.Rig.Device.Link));
        using var log = new LoggerConfiguration()
            .WriteTo.File(new CompactJsonFormatter(), Path.Combine(folder, RunFiles.Log)).CreateLogger();
        log.Information("Playing {Scenario} repeat {Repeat} on {Rig} at speed {Speed}", item.Scenario.Name, item.Repeat, options.Rig.Name, options.Speed);
        if (_player is null or { HasExited: true })
        {
            _player?.Dispose();
            _player = PlayerProcess.Start(
                Composition.PlayerCommandLine, new PlayerOrder(options.On.Document.Path, options.On.Document.Text, options.LinkUrl, Composition.Clock.UnixAtZeroNs));
            log.Information("Player process {Id} started", _player.Id);
        }
        plan = plan with { Expected = _expected };
        string cause, message;
        if (item.ByHand is { } schedule)
        {
            using var session = new HandSession(schedule, _format, folder, _keys, options.Bell);
            (cause, message) = await session.RunAsync(_player.PlayAsync(plan, stop)).ConfigureAwait(false);
        }
        else
        {
            using var follower = new RunFollower(plan, _format, Path.Combine(folder, RunFiles.Capture));
            using var shown = screen.Follow(item, number, total, follower);
            (cause, message) = await _player.PlayAsync(plan, stop).ConfigureAwait(false);
        }
        log.Information("Ended: {Cause} {Message}", cause, message);
        StoredRun run = RunConclusion.Seal(RunConclusion.Conclude(folder), cause);
        RunConclusion.WriteReport(run);
        log.Information("Verdict {Verdict}: {Reasons}", run.Score.Verdict, run.Score.Reasons);
        screen.Show(run, item, number, total);
        return run.WithoutCurves();
    }
}
