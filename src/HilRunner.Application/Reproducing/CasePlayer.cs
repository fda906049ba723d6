using HilRunner.Application.Batches;
using HilRunner.Application.Benches;
using HilRunner.Application.Playing;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals;
using HilRunner.Engine.Playing;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Application.Reproducing;

/// <summary>One play of an excerpt.</summary>
/// <param name="Spoiled">Why it says nothing of the device; null: it does.</param>
internal sealed record CasePlay(string Folder, string? Spoiled, bool Shown, string Said, IReadOnlyList<Decision> Decisions, Verdict Verdict)
{
    /// <summary>The device could not be reached, or did not start: nothing was played.</summary>
    public bool NotStarted { get; init; }
}

/// <summary>Plays excerpts on one rig, and keeps every play as a run of its own.</summary>
/// <param name="folder">Runs and what they play go below it.</param>
internal sealed class CasePlayer(
    PlayedRig on, string? link, string speed, BuildIdentity build, string folder, JobContext context, IPlayView view)
        : IDisposable
{
    private readonly RecoveringPlayer _player = new(on, link, speed, build, folder, context, view);

    public void Dispose() => _player.Dispose();

    /// <summary>Whatever the rig spoils is played again, as its file says.</summary>
    /// <exception cref="OperationCanceledException">It was interrupted; the run that was under way is kept.</exception>
    public async Task<CasePlay> PlayAsync(Excerpt excerpt, SourceDocument document, Symptom symptom, ulong seed, CancellationToken stop) =>
        Judged(await _player.PlayAsync(Item(document, seed), stop).ConfigureAwait(false), excerpt, symptom);

    public static BatchItem Item(SourceDocument document, ulong seed) => new(document, ScenarioFile.Parse(document.Text, document.Path), null, 1, seed) { Place = (1, 1) };

    public Stimulus Stimulus(SourceDocument document, ulong seed)
    {
        var item = Item(document, seed);
        return StimulusBuilder.Build(item.Scenario, item.Folder, on.Rig.Device.Input, seed);
    }

    private static CasePlay Judged(StoredRun run, Excerpt excerpt, Symptom symptom)
    {
        var decisions = DecisionsFile.Read(Path.Combine(run.Folder, RunFiles.Decisions));
        // Of a play that begins later, the judged stretch lies earlier: what expected.csv says is what was played.
        var (from, to) = Judged(run.Folder) ?? (excerpt.From, excerpt.To);
        string said = symptom.Said(decisions, from, to);
        string? spoiled = RecoveringPlayer.Spoiled(run);
        return new(run.Folder, spoiled, spoiled is null && symptom.IsShown(run, said), said, decisions, run.Score.Verdict)
        {
            NotStarted = run.Manifest.EndCause is EndCause.PlayerGone or EndCause.NotOpened or EndCause.NoAnswer or EndCause.WrongBuild or EndCause.LinkLost,
        };
    }

    private static (Core.Time.StimulusTime From, Core.Time.StimulusTime To)? Judged(string folder) =>
        ExpectedFile.Read(Path.Combine(folder, RunFiles.Expected)) is [{ } only] ? (only.Start, only.End) : null;
}
