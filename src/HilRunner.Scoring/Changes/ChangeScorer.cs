using HilRunner.Scoring.Latency;
using HilRunner.Scoring.Timelines;

namespace HilRunner.Scoring.Changes;

/// <summary>The observed class held for this long between two successive changes inside one stretch.</summary>
internal readonly record struct Dwell(string Class, long Ns);

/// <summary>How often the observed class changes where the reference covers the time, against how often it should.</summary>
internal static class ChangeScorer
{
    public static ChangeScore Score(
        ReferenceTimeline reference, ObservedTimeline observed, long scoredNs, int chatter, out IReadOnlyList<Dwell> dwells)
    {
        var found = new List<Dwell>();
        int changes = 0;
        int step = 1;
        foreach (var stretch in reference.Stretches)
        {
            while (step < observed.Steps.Count && observed.Steps[step].At <= stretch.Start) { step++; }
            int? before = null;
            for (; step < observed.Steps.Count && observed.Steps[step].At < stretch.End; step++)
            {
                if (observed.Steps[step].At == observed.FirstDecisionAt) { continue; }
                changes++;
                if (before is { } b) { found.Add(new(observed.Steps[b].Class, observed.Steps[step].At - observed.Steps[b].At)); }
                before = step;
            }
        }

        // Abutting intervals of one class are one, so that every boundary inside a stretch is a change of class.
        int expected = reference.States.Count - reference.Stretches.Count;
        int surplus = changes - expected;
        dwells = found;
        long[] sorted = [.. found.Select(d => d.Ns).Order()];
        return new(
            changes, expected, surplus, sorted.Length == 0 ? null : sorted[0], Quantile.Type7(sorted, 50),
            PerMinute(chatter, scoredNs), PerMinute(surplus, scoredNs));
    }

    public static double? PerMinute(int count, long ns) => ns == 0 ? null : count * 60e9 / ns;
}
