namespace HilRunner.Scoring.Statistics;

/// <summary>Whether counts hang together: more of them in few units than chance puts there.</summary>
public static class Dispersion
{
    /// <summary>
    /// Pearson's X² of the counts against their units' times, over its degrees of freedom (McCullagh and Nelder, Generalized
    /// Linear Models, 1989, §6.2.3, from memory); 1 where that is less, or where there is one unit. A count that is divided by it
    /// counts as many independent ones.
    /// </summary>
    /// <param name="counts">Of each unit.</param>
    /// <param name="times">Of each unit, above 0, in any unit of time.</param>
    public static double Factor(IReadOnlyList<int> counts, IReadOnlyList<double> times)
    {
        ArgumentNullException.ThrowIfNull(counts);
        ArgumentNullException.ThrowIfNull(times);
        double all = counts.Sum(c => (double)c), time = times.Sum(), statistic = 0;
        if (counts.Count < 2 || all == 0) { return 1; }
        for (int i = 0; i < counts.Count; i++)
        {
            double expected = all * times[i] / time;
            statistic += (counts[i] - expected) * (counts[i] - expected) / expected;
        }
        return Math.Max(1, statistic / (counts.Count - 1));
    }
}
