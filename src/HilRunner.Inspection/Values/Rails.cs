namespace HilRunner.Inspection.Values;

/// <summary>
/// Where a channel's values end. A rail is the stated full scale; or a usual one (±2, 4, 8 … g; ±125, 250 … °/s) that at least three
/// samples reach; or the channel's extreme where it is held over three samples running, half a g (or 10 °/s) or more from the median.
/// </summary>
/// <param name="Low">Samples at or below are clipped; negative infinity: no lower rail.</param>
/// <param name="High">Samples at or above are clipped.</param>
internal readonly record struct Rails(double Low, double High)
{
    private static readonly double[] s_usualG = [2, 4, 8, 16, 32, 64, 100, 200, 400];
    private static readonly double[] s_usualDps = [125, 250, 500, 1000, 2000, 4000];

    /// <param name="stated">Full scale in the channel's unit; null: not stated.</param>
    public static Rails Of(double[] values, double? stated, bool acceleration)
    {
        if (stated is { } range)
        {
            double rail = range * (1 - Thresholds.ClippedRail.Value);
            return new(-rail, rail);
        }
        var (low, high, median) = Extremes(values);
        double[] usual = acceleration ? s_usualG : s_usualDps;
        double far = acceleration ? 0.5 : 10;
        return new(-Rail(values, -1, -low, -median, usual, far), Rail(values, 1, high, median, usual, far));
    }

    /// <summary>The upper rail of values × sign.</summary>
    private static double Rail(double[] values, int sign, double extreme, double median, double[] usual, double far)
    {
        foreach (double scale in usual)
        {
            double rail = scale * (1 - Thresholds.ClippedRail.Value);
            if (extreme < rail || extreme > scale * (1 + Thresholds.ClippedRail.Value)) { continue; }
            if (values.Count(v => v * sign >= rail) >= Thresholds.ClippedLeast.Value) { return rail; }
        }
        return extreme - median >= far && LongestRun(values, sign, extreme) >= Thresholds.ClippedLeast.Value ? extreme : double.PositiveInfinity;
    }

    private static int LongestRun(double[] values, int sign, double extreme)
    {
        int longest = 0, run = 0;
        foreach (double v in values)
        {
            run = v * sign >= extreme ? run + 1 : 0;
            longest = Math.Max(longest, run);
        }
        return longest;
    }

    private static (double Low, double High, double Median) Extremes(double[] values)
    {
        double low = double.PositiveInfinity, high = double.NegativeInfinity;
        foreach (double v in values)
        {
            if (v < low) { low = v; }
            if (v > high) { high = v; }
        }
        return (low, high, Statistics.Median(Statistics.Sampled(values)));
    }
}
