using HilRunner.Core.Statistics;

namespace HilRunner.Scoring.Statistics;

/// <summary>
/// How far one series lies from another (Hodges and Lehmann, Ann. Math. Stat. 34:598–611, 1963), with the interval of the shifts that the rank test of the same
/// name would not reject. Ties make the interval wider than it need be, never narrower.
/// </summary>
/// <param name="Shift">Positive: the second is larger.</param>
/// <param name="Interval">Null where so few values give none at this confidence.</param>
public readonly record struct HodgesLehmann(double Shift, Interval? Interval)
{
    /// <summary>
    /// Of paired differences: the median of all their pairwise averages; interval from Wilcoxon's signed rank distribution, zeros kept. Null where there is none.
    /// </summary>
    /// <param name="differences">Finite; any order.</param>
    public static HodgesLehmann? Paired(IReadOnlyList<double> differences, double confidence)
    {
        Confidence.Check(confidence);
        double[] sorted = Finite(differences);
        if (sorted.Length == 0) { return null; }
        long pairs = sorted.Length * (sorted.Length + 1L) / 2;
        long cut = SignedRank.Critical(sorted.Length, (1 - confidence) / 2);
        return Of(pairs, cut, k => PairwiseOrder.Average(sorted, k));
    }

    /// <summary>Of two series that are not paired: the median of all differences y − x; interval from Mann and Whitney's distribution. Null where one is empty.</summary>
    public static HodgesLehmann? Unpaired(IReadOnlyList<double> x, IReadOnlyList<double> y, double confidence)
    {
        Confidence.Check(confidence);
        double[] first = Finite(x), second = Finite(y);
        if (first.Length == 0 || second.Length == 0) { return null; }
        long cut = MannWhitney.Critical(first.Length, second.Length, (1 - confidence) / 2);
        return Of((long)first.Length * second.Length, cut, k => PairwiseOrder.Difference(first, second, k));
    }

    private static HodgesLehmann Of(long count, long cut, Func<long, double> kth)
    {
        double middle = count % 2 == 1 ? kth(count / 2 + 1) : (kth(count / 2) + kth(count / 2 + 1)) / 2;
        return new(middle, cut == 0 ? null : new Interval(kth(cut), kth(count + 1 - cut)));
    }

    private static double[] Finite(IReadOnlyList<double> values) =>
        values.All(double.IsFinite) ? [.. values.Order()] : throw new ArgumentException("a value is not finite", nameof(values));
}
