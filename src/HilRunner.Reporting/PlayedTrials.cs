using HilRunner.Scoring.Pooling;

namespace HilRunner.Reporting;

/// <summary>A stored run's trials with where their motion comes from.</summary>
internal static class PlayedTrials
{
    public static IReadOnlyList<PlayedTrial> Of(StoredRun run)
    {
        // Not by the playout: a run is kept without it once it is concluded.
        bool reportKnown = run.Score.ReportTimesKnown;
        return
        [
            .. run.Score.Outputs.SelectMany(o => o.Trials.Select(t =>
                new PlayedTrial(o.Output, TrialMotion.Of(run.Manifest, run.Reference, t), t,
                    run.Rules.WithinNs) { ReportKnown = reportKnown })),
        ];
    }

    /// <summary>What was played, with the false alarms in it.</summary>
    public static IReadOnlyList<HeardStretch> HeardIn(StoredRun run)
    {
        var played = PlayedMotion.Of(run.Reference, run.Manifest.Sources, TrialMotion.Made(run.Manifest), run.End.Ns);
        return [.. run.Score.Outputs.SelectMany(o => HeardStretch.Of(o.Output, played, o.Events))];
    }
}
