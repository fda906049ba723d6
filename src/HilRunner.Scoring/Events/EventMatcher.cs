using HilRunner.Core.Runs;
using HilRunner.Scoring.Latency;
using HilRunner.Scoring.Timelines;

namespace HilRunner.Scoring.Events;

/// <summary>
/// Matches the decisions of one event class to its reference intervals: in time order, each to the earliest unmatched interval
/// with s − early ≤ t &lt; s + within; where the onset s is uncertain by u, with s − early − u ≤ t. Without a tolerance a report
/// a moment early would be a false alarm and a miss at once; published practice takes 0.2 s on both sides (Mesaros, Heittola,
/// Virtanen, Appl. Sci. 6:162, 2016).
/// </summary>
internal static class EventMatcher
{
    /// <param name="trials">Of one class, by start.</param>
    /// <param name="decisions">Of the same class, by time, all inside [0, T).</param>
    /// <returns>The matched decision of each trial, or null.</returns>
    public static Decision?[] Match(IReadOnlyList<Interval> trials, IReadOnlyList<Decision> decisions, long withinNs,
        long earlyNs = 0)
    {
        var matched = new Decision?[trials.Count];
        int next = 0;
        foreach (var decision in decisions)
        {
            // All windows are equally long, so they close in the order in which they open.
            while (next < trials.Count && Nanoseconds.AddHeld(trials[next].Start, withinNs) <= decision.Time.Ns) { next++; }
            if (next < trials.Count
                && trials[next].Start - earlyNs - trials[next].Uncertainty <= decision.Time.Ns) { matched[next++] = decision; }
        }
        return matched;
    }

    /// <summary>An event interval as a trial. It counts where its whole window lies in the stimulus, whether it was hit or
    /// not.</summary>
    public static TrialScore Trial(Interval trial, Decision? hit, long withinNs, long end, ReportClock reports)
    {
        var latency = reports.Latency(trial.Start, hit);
        return new()
        {
            Class = trial.Class,
            StartNs = trial.Start,
            EndNs = trial.End,
            IsEvent = true,
            Already = false,
            Missed = hit is null,
            Recognised = hit is not null,
            Counted = TrialCounts.CountsAsEvent(trial, withinNs, end),
            ReactionNs = hit is null ? null : Math.Max(0, hit.Time.Ns - trial.Start),
            ReportLatencyNs = latency?.Ns,
            UncertaintyNs = hit?.UncertaintyNs + trial.Uncertainty,
            ReportUncertaintyNs = latency?.UncertaintyNs + trial.Uncertainty,
        };
    }
}
