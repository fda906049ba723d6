using HilRunner.Cli.Recorders;
using HilRunner.Cli.Screen;
using HilRunner.Core;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Engine.Directing;
using HilRunner.Engine.Plans;
using HilRunner.Engine.Playing;
using HilRunner.Reporting;
using Serilog;
using Serilog.Formatting.Compact;

namespace HilRunner.Cli.Runs;

/// <summary>What a call of <c>hil run</c> plays on, and how.</summary>
internal sealed record BatchOptions(
    Rig Rig, SourceDocument RigDocument, string? LinkUrl, string Speed, string OutputFolder, BuildIdentity Build, bool Bell);

/// <summary>
/// Plays a batch on one rig, run after run: prepares a folder, hands the plan to the player, concludes. A run whose link was
/// lost is played once more; the first stays in the record, outside the verdict.
/// </summary>
internal sealed class BatchPlayer(BatchOptions options, RunScreen screen) : IDisposable
{
    private readonly IDeviceFormat _format = Composition.Formats.Create(options.Rig.Device);
    private readonly KeyReader _keys = new();
    private readonly IReadOnlyDictionary<string, string> _expected = ExpectedBuild.Of(options.Rig.Device.Identity, options.Build);
    private PlayerProcess? _player;
    private int _number;

    /// <summary>Plays until the end of the batch, until stopped, or until the machine fails; what was played is always returned.</summary>
    /// <param name="unfinished">What was played before the batch was cut off: what is finished is not played again. Null: it begins now.</param>
    /// <param name="enough">Asked after every run: why no more need be played; null: go on.</param>
    public async Task<BatchOutcome> PlayAsync(Batch batch, UnfinishedBatch? unfinished, Func<IReadOnlyList<(StoredRun Run, bool PlayedAgain)>, string?> enough, CancellationToken stop)
    {
        var played = new List<StoredRun>(unfinished?.Runs ?? []);
        _number = unfinished?.LastNumber ?? 0;
        var finished = unfinished?.Finished ?? new HashSet<RunKey>();
        if (batch.Items.Any(i => i.ByHand is not null)) { _keys.Start(); }
        try
        {
            foreach (BatchItem item in batch.Items.Where(i => !finished.Contains(RunKey.Of(i))))
            {
                if (stop.IsCancellationRequested) { break; }
                played.Add(await PlayOneAsync(item, batch.Items.Count, stop).ConfigureAwait(false));
                if (played[^1].Manifest.EndCause == EndCause.WrongBuild) { return new(StoredBatch.Runs(played), false, played[^1].Score.Reasons[0]); }
                bool again = played[^1].Manifest.EndCause is EndCause.LinkLost or EndCause.PlayerGone && !stop.IsCancellationRequested;
                if (again) { played.Add(await PlayOneAsync(item, batch.Items.Count, stop).ConfigureAwait(false)); }
                if (enough(StoredBatch.Runs(played)) is { } why) { return new(StoredBatch.Runs(played), stop.IsCancellationRequested, null) { Enough = why }; }
            }
            return new(StoredBatch.Runs(played), stop.IsCancellationRequested, null);
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException or InvalidDataException or BadInputException)
        {
            return new(StoredBatch.Runs(played), stop.IsCancellationRequested, fault.Message);
        }
    }

    public void Dispose()
    {
        _player?.Dispose();
        _format.Dispose();
    }

    private async Task<StoredRun> PlayOneAsync(BatchItem item, int total, CancellationToken stop)
    {
        string folder = Path.Combine(options.OutputFolder, $"{++_number:000}-{Slug.Of(item.Scenario.Name)}-{item.Repeat}");
        var preparation = new RunPreparation(options.Rig, options.RigDocument, _format, options.Speed, options.Build);
        var (_, plan) = preparation.Prepare(item, folder, options.LinkUrl ?? LinkNames.Of(options.Rig.Device.Link));
        using var log = new LoggerConfiguration()
            .WriteTo.File(new CompactJsonFormatter(), Path.Combine(folder, RunFiles.Log)).CreateLogger();
        log.Information("Playing {Scenario} repeat {Repeat} on {Rig} at speed {Speed}", item.Scenario.Name, item.Repeat, options.Rig.Name, options.Speed);
        if (_player is null or { HasExited: true })
        {
            _player?.Dispose();
            _player = PlayerProcess.Start(
                Composition.PlayerCommandLine, new PlayerOrder(options.RigDocument.Path, options.RigDocument.Text, options.LinkUrl, Composition.Clock.UnixAtZeroNs));
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
            using var shown = screen.Follow(item, _number, total, follower);
            (cause, message) = await _player.PlayAsync(plan, stop).ConfigureAwait(false);
        }
        log.Information("Ended: {Cause} {Message}", cause, message);
        StoredRun run = RunConclusion.Seal(RunConclusion.Conclude(folder), cause);
        RunConclusion.WriteReport(run);
        log.Information("Verdict {Verdict}: {Reasons}", run.Score.Verdict, run.Score.Reasons);
        screen.Show(run, item, _number, total);
        return run.WithoutCurves();
    }
}
