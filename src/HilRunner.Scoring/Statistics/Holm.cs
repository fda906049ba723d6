namespace HilRunner.Scoring.Statistics;

/// <summary>Several tests at once: adjusted p values that keep the chance of any false alarm at the level (Holm, Scand. J. Stat. 6:65–70, 1979).</summary>
public static class Holm
{
    /// <summary>In the order of <paramref name="p"/>; each at most 1 and at least its own p.</summary>
    public static IReadOnlyList<double> Adjust(IReadOnlyList<double> p)
    {
        int[] order = [.. Enumerable.Range(0, p.Count).OrderBy(i => p[i])];
        double[] adjusted = new double[p.Count];
        double largest = 0;
        for (int rank = 0; rank < order.Length; rank++)
        {
            largest = Math.Max(largest, Math.Min(1, (p.Count - rank) * p[order[rank]]));
            adjusted[order[rank]] = largest;
        }
        return adjusted;
    }
}
