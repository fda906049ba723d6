using System.Globalization;

namespace HilRunner.Benchmarks.Pacing;

/// <summary>One ratio a block, told by its median with the interval that order statistics give for it.</summary>
internal sealed class BlockRatios
{
    private readonly double[] _sorted;
    private readonly int _rank;

    public BlockRatios(IEnumerable<double> ratios)
    {
        _sorted = [.. ratios.Order()];
        (_rank, Coverage) = Interval(_sorted.Length);
    }

    public double Median => (_sorted[(_sorted.Length - 1) / 2] + _sorted[_sorted.Length / 2]) / 2;

    public double Low => _sorted[_rank - 1];

    public double High => _sorted[^_rank];

    /// <summary>How often such an interval holds the true median, whatever the distribution: at least 95 % from 6 blocks on.</summary>
    public double Coverage { get; }

    public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"{Figure(Median)} [{Figure(Low)}, {Figure(High)}]");

    public static string Figure(double value) =>
        value.ToString(value >= 100 ? "0" : value >= 10 ? "0.0" : value >= 0.1 ? "0.00" : "0.000", CultureInfo.InvariantCulture);

    /// <summary>
    /// The k-th smallest and k-th greatest of n hold the median but for twice the chance of fewer than k heads in n throws (David and
    /// Nagaraja, Order Statistics, 2003, section 7.1); the greatest k for which that is 5 % or less, or 1.
    /// </summary>
    private static (int Rank, double Coverage) Interval(int n)
    {
        int rank = 1;
        double term = Math.Pow(0.5, n), below = term;
        double outside = 2 * below;
        while (rank < n / 2)
        {
            term = term * (n - rank + 1) / rank;
            if (2 * (below + term) > 0.05) { break; }
            below += term;
            outside = 2 * below;
            rank++;
        }
        return (rank, 1 - outside);
    }
}
