namespace HilRunner.Scoring.Statistics;

/// <summary>Ranks from 1, equal values sharing their mean; doubled, so that they are whole.</summary>
internal static class Ranks
{
    public static int[] Doubled(double[] values)
    {
        int[] order = [.. Enumerable.Range(0, values.Length).OrderBy(i => values[i])];
        int[] ranks = new int[values.Length];
        for (int from = 0, to; from < order.Length; from = to)
        {
            to = from;
            while (to < order.Length && values[order[to]] == values[order[from]]) { to++; }
            for (int i = from; i < to; i++) { ranks[order[i]] = from + 1 + to; }
        }
        return ranks;
    }

    /// <summary>Σ (t³ − t) over the groups of t equal ranks.</summary>
    public static double TieTerm(int[] ranks) => ranks.GroupBy(r => r).Sum(g => Math.Pow(g.Count(), 3) - g.Count());
}
