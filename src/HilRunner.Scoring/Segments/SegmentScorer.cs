using HilRunner.Scoring.Timelines;

namespace HilRunner.Scoring.Segments;

/// <summary>
/// Segments of one class against the rest, after Ward, Lukowicz and Gellersen, "Performance metrics for activity
/// recognition", ACM TIST 2(1), 2011, with the times that the errors took.
/// </summary>
internal static class SegmentScorer
{
    public static IReadOnlyDictionary<string, SegmentScore> Score(ReferenceTimeline reference, ObservedTimeline observed)
    {
        var expected = new Dictionary<string, List<Interval>>(StringComparer.Ordinal);
        foreach (var interval in reference.States) { Of(expected, interval.Class).Add(interval); }
        var detected = new Dictionary<string, List<Interval>>(StringComparer.Ordinal);
        foreach (var interval in Cut(observed, reference.Stretches)) { Of(detected, interval.Class).Add(interval); }

        var scores = new SortedDictionary<string, SegmentScore>(StringComparer.Ordinal);
        foreach (string c in expected.Keys.Union(detected.Keys, StringComparer.Ordinal).Where(c => c != ObservedTimeline.None))
        {
            scores[c] = new ClassSegments(expected.GetValueOrDefault(c) ?? [], detected.GetValueOrDefault(c) ?? []).Score();
        }
        return scores;
    }

    /// <summary>The observed runs inside scored time; a cut parts them.</summary>
    private static IEnumerable<Interval> Cut(ObservedTimeline observed, IReadOnlyList<Stretch> stretches)
    {
        int step = 0;
        foreach (var stretch in stretches)
        {
            while (observed.EndOf(step) <= stretch.Start) { step++; }
            for (int i = step; i < observed.Steps.Count && (i == step || observed.Steps[i].At < stretch.End); i++)
            {
                yield return new(
                    Math.Max(observed.Steps[i].At, stretch.Start), Math.Min(observed.EndOf(i), stretch.End), observed.Steps[i].Class);
            }
        }
    }

    private static List<Interval> Of(Dictionary<string, List<Interval>> byClass, string c)
    {
        if (!byClass.TryGetValue(c, out var list)) { byClass[c] = list = []; }
        return list;
    }
}
