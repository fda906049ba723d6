using HilRunner.Core.Signals;
using HilRunner.Scoring;
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
                new PlayedTrial(o.Output, Motion(run, t), t, run.Rules.WithinNs) { ReportKnown = reportKnown })),
        ];
    }

    private static TrialMotion Motion(StoredRun run, TrialScore trial)
    {
        // A trial may begin later than its interval: where the time after an event is unscored.
        var interval = run.Reference.FirstOrDefault(i => i.Class == trial.Class && i.Start.Ns <= trial.StartNs && trial.StartNs < i.End.Ns);
        if (interval?.Segment is { } segment && segment.Recording <= run.Manifest.Sources.Count)
        {
            StimulusSource source = run.Manifest.Sources[segment.Recording - 1];
            return new(source.Sha256, segment.From.Ns, segment.To.Ns, source.Info.Source);
        }
        // Moved by hand, each time is another motion; made or of an unknown place, each time the same.
        string made = run.Manifest.ByHand ? run.Manifest.Id + run.Manifest.Started.ToString("O") : run.Manifest.Scenario.Sha256;
        return new(made, interval?.Start.Ns ?? trial.StartNs, interval?.End.Ns ?? trial.EndNs, null);
    }
}
