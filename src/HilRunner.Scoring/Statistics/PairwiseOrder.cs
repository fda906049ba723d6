namespace HilRunner.Scoring.Statistics;

/// <summary>
/// The k-th smallest of all pairwise combinations of sorted values, without holding them: how many lie at or below a value is counted in one pass,
/// and the value is found by halving the doubles. n log n instead of n² memory.
/// </summary>
internal static class PairwiseOrder
{
    /// <summary>Of the n(n+1)/2 averages (x_i + x_j)/2, i ≤ j (Walsh averages).</summary>
    /// <param name="sorted">Finite, ascending, at least one.</param>
    /// <param name="k">From 1.</param>
    public static double Average(double[] sorted, long k) =>
        Kth(sorted[0], sorted[^1], limit => CountAverages(sorted, limit) >= k);

    /// <summary>Of the n·m differences y_j − x_i.</summary>
    public static double Difference(double[] x, double[] y, long k) =>
        Kth(y[0] - x[^1], y[^1] - x[0], limit => CountDifferences(x, y, limit) >= k);

    private static long CountAverages(double[] sorted, double limit)
    {
        long count = 0;
        int j = sorted.Length - 1;
        for (int i = 0; i < sorted.Length; i++)
        {
            while (j >= i && (sorted[i] + sorted[j]) / 2 > limit) { j--; }
            if (j < i) { break; }
            count += j - i + 1;
        }
        return count;
    }

    private static long CountDifferences(double[] x, double[] y, double limit)
    {
        long count = 0;
        int j = 0;
        foreach (double left in x)
        {
            while (j < y.Length && y[j] - left <= limit) { j++; }
            count += j;
        }
        return count;
    }

    /// <summary>The smallest double of low to high for which it holds. It holds for high.</summary>
    private static double Kth(double low, double high, Func<double, bool> holds)
    {
        long from = Ordinal(low), to = Ordinal(high);
        while (from < to)
        {
            long middle = from + (long)((ulong)(to - from) / 2);
            if (holds(Value(middle))) { to = middle; }
            else { from = middle + 1; }
        }
        return Value(from);
    }

    /// <summary>Doubles in their order as whole numbers.</summary>
    private static long Ordinal(double value)
    {
        long bits = BitConverter.DoubleToInt64Bits(value == 0 ? 0.0 : value);
        return bits >= 0 ? bits : long.MinValue - bits;
    }

    private static double Value(long ordinal) => BitConverter.Int64BitsToDouble(ordinal >= 0 ? ordinal : long.MinValue - ordinal);
}
