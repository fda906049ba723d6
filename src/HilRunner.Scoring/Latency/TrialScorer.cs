using HilRunner.Core.Runs;
using HilRunner.Scoring.Timelines;

namespace HilRunner.Scoring.Latency;

/// <summary>Reaction, settling, dropouts and chatter of each reference interval of a state.</summary>
internal static class TrialScorer
{
    /// <param name="trials">By start, without overlap: one sweep over the steps serves them all.</param>
    public static IEnumerable<TrialScore> Score(IReadOnlyList<Interval> trials, ObservedTimeline observed, long? withinNs, ReportClock reports)
    {
        int step = 0;
        foreach (var trial in trials)
        {
            while (observed.EndOf(step) <= trial.Start) { step++; }
            yield return Score(trial, observed, step, withinNs, reports);
        }
    }

    /// <param name="first">The step that holds at the trial's start.</param>
    private static TrialScore Score(Interval trial, ObservedTimeline observed, int first, long? withinNs, ReportClock reports)
    {
        var steps = observed.Steps;
        bool already = steps[first].Class == trial.Class;
        int? reached = null;
        int dropouts = 0;
        int chatter = 0;
        int last = first;
        for (int i = first; i < steps.Count && (i == first || steps[i].At < trial.End); i++)
        {
            last = i;
            if (reached is not null)
            {
                chatter++;
                if (steps[i - 1].Class == trial.Class) { dropouts++; }
            }
            else if (steps[i].Class == trial.Class)
            {
                reached = i;
            }
        }

        long? reaction = reached is { } r ? Math.Max(steps[r].At, trial.Start) - trial.Start : null;
        bool recognised = reaction is { } ns && (withinNs is null || ns <= withinNs);
        var report = reached is { } found && !already ? steps[found].Cause : null;
        bool settled = steps[last].Class == trial.Class;
        // A trial that was and stayed in its class ended by no decision of its own.
        var settler = settled && steps[last].At > trial.Start ? steps[last].Cause : null;
        var latency = reports.Latency(trial.Start, report);
        return new()
        {
            Class = trial.Class,
            StartNs = trial.Start,
            EndNs = trial.End,
            Already = already,
            Missed = reached is null,
            Recognised = recognised,
            Counted = recognised || withinNs is null || trial.Length >= withinNs,
            ReactionNs = reaction,
            SettlingNs = settled ? Math.Max(steps[last].At, trial.Start) - trial.Start : null,
            Dropouts = reached is null ? null : dropouts,
            Chatter = reached is null ? null : chatter,
            ReportLatencyNs = latency?.Ns,
            UncertaintyNs = Wider(report, settler, reports.LatenessNs(trial.Start)) + trial.Uncertainty,
            ReportUncertaintyNs = latency?.UncertaintyNs + trial.Uncertainty,
        };
    }

    /// <summary>The larger half-width of the decisions that there are; null where one of them is not known.</summary>
    /// <param name="lateNs">
    /// How late the onset's own sample was: where a decision is placed by a clock, what it took counts from then.
    /// </param>
    private static long? Wider(Decision? reached, Decision? settled, long lateNs)
    {
        long? Of(Decision decision) => decision.UncertaintyNs + (decision.Timing == DecisionTiming.DeviceClock ? lateNs : 0);
        if ((reached ?? settled) is not { } one) { return null; }
        if (reached is null || settled is null) { return Of(one); }
        return Of(reached) is { } a && Of(settled) is { } b ? Math.Max(a, b) : null;
    }
}
