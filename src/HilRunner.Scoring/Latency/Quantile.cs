namespace HilRunner.Scoring.Latency;

/// <summary>
/// Sample quantiles of type 7 (Hyndman and Fan 1996): with h = (n − 1)p, the value between the ranks ⌊h⌋ and ⌊h⌋ + 1, counted
/// from 0. Computed in integers, so that a figure that lies on its bound is on it.
/// </summary>
internal static class Quantile
{
    /// <summary>A latency that never ended: above every other.</summary>
    public const long Never = long.MaxValue;

    /// <param name="sortedNs">Ascending.</param>
    /// <param name="percent">0 to 100.</param>
    /// <returns>Seconds; +∞ where the value lies in or leads into <see cref="Never"/>; null without values.</returns>
    public static double? Type7(ReadOnlySpan<long> sortedNs, int percent)
    {
        if (sortedNs.Length == 0) { return null; }
        long rank = (sortedNs.Length - 1L) * percent;
        int below = (int)(rank / 100);
        long part = rank % 100;
        long low = sortedNs[below];
        if (low == Never) { return double.PositiveInfinity; }
        long high = part == 0 ? low : sortedNs[below + 1];
        if (high == Never) { return double.PositiveInfinity; }
        return (double)((Int128)low * 100 + ((Int128)high - low) * part) / 100e9;
    }

    /// <inheritdoc cref="Type7"/>
    public static double? Mean(ReadOnlySpan<long> sortedNs)
    {
        if (sortedNs.Length == 0) { return null; }
        if (sortedNs[^1] == Never) { return double.PositiveInfinity; }
        Int128 sum = 0;
        foreach (long ns in sortedNs) { sum += ns; }
        return (double)sum / (sortedNs.Length * 1e9);
    }
}
