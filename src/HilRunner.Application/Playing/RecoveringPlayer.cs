using HilRunner.Application.Batches;
using HilRunner.Application.Benches;
using HilRunner.Core.Files;
using HilRunner.Core.Links;
using HilRunner.Core.Runs;
using HilRunner.Engine.Playing;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Application.Playing;

/// <summary>Plays one run after the other on one rig and keeps each; what the rig spoils is played again, as its file says.</summary>
/// <param name="folder">The runs go below it.</param>
internal sealed class RecoveringPlayer(
    PlayedRig on, string? link, string speed, BuildIdentity build, string folder, JobContext context, IPlayView view)
        : IDisposable
{
    private readonly RigPlayer _player =
        new(new(on, link, speed, PlainFile.CreateFolder(folder), build, build.Image, Bell: false), context, view);
    private int _number;

    public void Dispose() => _player.Dispose();

    /// <exception cref="OperationCanceledException">It was interrupted; the run that was under way is kept.</exception>
    public async Task<StoredRun> PlayAsync(BatchItem item, CancellationToken stop)
    {
        stop.ThrowIfCancellationRequested();
        var recovery = new RigRecovery(_player.Rig);
        var run = await _player.PlayAsync(item, ++_number, stop).ConfigureAwait(false);
        // What moves a table is never begun again by itself.
        while (item.Mover is null && !stop.IsCancellationRequested && recovery.Next(RigRecovery.Of(run)) is { } rung)
        {
            try { _player.BringBack(run, rung.Name, rung.Steps, stop); }
            catch (Exception fault) when (fault is IOException or LinkException)
            {
                view.Tell(fault.Message);
                continue;
            }
            run = await _player.PlayAsync(item, ++_number, stop).ConfigureAwait(false);
        }
        stop.ThrowIfCancellationRequested();
        return run;
    }

    /// <summary>Why a run says nothing of the device; null: it does.</summary>
    public static string? Spoiled(StoredRun run) =>
        run.Manifest.EndCause is not (EndCause.Completed or EndCause.Silent) || run.Score.Verdict == Verdict.Error ? run.Score.Reasons.FirstOrDefault() ?? run.Manifest.EndCause ?? "it did not end"
            : run.Score.Health.Faults.FirstOrDefault();
}
