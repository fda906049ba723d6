using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Timelines;

namespace HilRunner.Scoring.Latency;

/// <summary>Reaction, settling, dropouts and chatter of each reference interval of a state.</summary>
internal static class TrialScorer
{
    /// <param name="trials">By start, without overlap: one sweep over the steps serves them all.</param>
    public static IEnumerable<TrialScore> Score(
        IReadOnlyList<Interval> trials, ObservedTimeline observed, ScoringRules rules, ReportClock reports)
    {
        int step = 0;
        foreach (var trial in trials)
        {
            while (observed.EndOf(step) <= trial.Start) { step++; }
            yield return Score(trial, observed, step, rules, reports);
        }
    }

    /// <param name="first">The step that holds at the trial's start.</param>
    private static TrialScore Score(Interval trial, ObservedTimeline observed, int first, ScoringRules rules, ReportClock reports)
    {
        var steps = observed.Steps;
        // Reached: where the class begins to hold for long enough; seen: where it is observed first, be it for an instant.
        int? reached = null;
        bool seen = false, holdOpen = false;
        int dropouts = 0;
        int chatter = 0;
        int last = first;
        for (int i = first; i < steps.Count && (i == first || steps[i].At < trial.End); i++)
        {
            last = i;
            if (seen)
            {
                chatter++;
                if (steps[i - 1].Class == trial.Class) { dropouts++; }
            }
            if (steps[i].Class != trial.Class) { continue; }
            seen = true;
            if (reached is not null) { continue; }
            var (holds, open) = Holds(trial, observed, i, rules.HoldNs);
            if (holds) { reached = i; }
            holdOpen |= open;
        }

        bool already = reached == first;
        long? reaction = reached is { } r ? Math.Max(steps[r].At, trial.Start) - trial.Start : null;
        bool recognised = reaction is { } ns && (rules.WithinNs is null || ns <= rules.WithinNs);
        var report = reached is { } found && !already ? steps[found].Cause : null;
        bool settled = steps[last].Class == trial.Class;
        // A trial that was and stayed in its class ended by no decision of its own.
        var settler = settled && steps[last].At > trial.Start ? steps[last].Cause : null;
        var latency = reports.Latency(trial.Start, report);
        long? uncertainty = Wider(report, settler, reports.LatenessNs(trial.Start)) + trial.Uncertainty;
        return new()
        {
            Class = trial.Class,
            StartNs = trial.Start,
            EndNs = trial.End,
            Already = already,
            Missed = reached is null,
            Recognised = recognised,
            Counted = TrialCounts.Counts(trial, rules),
            ReactionNs = reaction,
            SettlingNs = settled ? Math.Max(steps[last].At, trial.Start) - trial.Start : null,
            Dropouts = seen ? dropouts : null,
            Chatter = seen ? chatter : null,
            ReportLatencyNs = latency?.Ns,
            // Which of several stretches held for long enough is open: the reaction may be any in the trial.
            UncertaintyNs = holdOpen && uncertainty is { } u ? Math.Max(u, trial.Length) : uncertainty,
            HoldOpen = holdOpen,
            ReportUncertaintyNs = latency?.UncertaintyNs + trial.Uncertainty,
        };
    }

    /// <summary>
    /// Whether a stretch of the trial's class is long enough by the times as they stand, and whether the true times of its two
    /// decisions leave that open.
    /// </summary>
    /// <param name="step">Of the trial's class.</param>
    private static (bool Holds, bool Open) Holds(Interval trial, ObservedTimeline observed, int step, long holdNs)
    {
        var steps = observed.Steps;
        long start = steps[step].At, end = observed.EndOf(step);
        // What was decided before the stimulus began held at its start.
        long startOpen = start > 0 ? steps[step].Cause?.UncertaintyNs ?? 0 : 0;
        long endOpen = step + 1 < steps.Count ? steps[step + 1].Cause?.UncertaintyNs ?? 0 : 0;
        // An instant in the class is one whatever its time: without a hold there is nothing to be open.
        return (Suffices(0, 0), holdNs > 0 && Suffices(startOpen, -endOpen) != Suffices(-startOpen, endOpen));

        bool Suffices(long startLater, long endLater) =>
            Math.Min(end + endLater, trial.End) - Math.Max(start + startLater, trial.Start) >= holdNs;
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
