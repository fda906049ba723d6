using HilRunner.Core.Statistics;

namespace HilRunner.Scoring.Statistics;

/// <summary>
/// Bounds on a quantile of a population from the order statistics of independent values, whatever their distribution (Wilks, Ann. Math. Stat.
/// 12:91–96, 1941). Ties only make them safer. Values may be infinite.
/// </summary>
public static class QuantileBounds
{
    /// <summary>
    /// With confidence <paramref name="confidence"/> the quantile is at most this: the smallest value X(k) with P(B(n, share) ≤ k − 1) ≥ confidence.
    /// Null where even the largest value does not prove that: there are too few.
    /// </summary>
    /// <param name="sorted">Ascending.</param>
    /// <param name="share">Which quantile: 0.95 for the value that 95 % lie below.</param>
    public static double? Upper(IReadOnlyList<double> sorted, double share, double confidence)
    {
        Check(share, confidence);
        int n = sorted.Count;
        if (n == 0 || Binomial.AtMost(n - 1, n, share) < confidence) { return null; }
        int k = First(1, n, k => Binomial.AtMost(k - 1, n, share) >= confidence);
        return sorted[k - 1];
    }

    /// <summary>With confidence <paramref name="confidence"/> the quantile is at least this: the largest value X(k) with P(B(n, share) ≥ k) ≥ confidence. Null: too few.</summary>
    public static double? Lower(IReadOnlyList<double> sorted, double share, double confidence)
    {
        Check(share, confidence);
        int n = sorted.Count;
        if (n == 0 || Binomial.AtLeast(1, n, share) < confidence) { return null; }
        int k = First(1, n + 1, k => k > n || Binomial.AtLeast(k, n, share) < confidence) - 1;
        return sorted[k - 1];
    }

    /// <summary>The first of low to high for which it holds; it holds for high, and for all after the first.</summary>
    private static int First(int low, int high, Func<int, bool> holds)
    {
        while (low < high)
        {
            int middle = low + (high - low) / 2;
            if (holds(middle)) { high = middle; }
            else { low = middle + 1; }
        }
        return low;
    }

    private static void Check(double share, double confidence)
    {
        if (!(share is > 0 and < 1)) { throw new ArgumentOutOfRangeException(nameof(share), share, "a quantile's share lies above 0 and below 1"); }
        Confidence.Check(confidence);
    }
}
