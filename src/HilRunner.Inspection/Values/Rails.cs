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
        var (least, most) = Extremes(values);
        if (stated is { } range)
        {
            return new(-Stated(-least, range), Stated(most, range));
        }
        double median = Statistics.Median(Statistics.Sampled(values));
        double[] usual = acceleration ? s_usualG : s_usualDps;
        double far = acceleration ? 0.5 : 10;
        return new(-Rail(values, -1, -least, -median, usual, far), Rail(values, 1, most, median, usual, far));
    }

    /// <summary>Infinite where the extreme stays clear of the range.</summary>
    private static double Stated(double extreme, double range) =>
        extreme < range * (1 - Thresholds.ClippedRail.Value) ? double.PositiveInfinity : Math.Min(extreme, range) - Thresholds.ClippedWidth.Value * range;

    /// <summary>The upper rail of values × sign.</summary>
    private static double Rail(double[] values, int sign, double extreme, double median, double[] usual, double far)
    {
        foreach (double scale in usual)
        {
            if (Math.Abs(extreme - scale) > Thresholds.ClippedRail.Value * scale) { continue; }
            double rail = extreme - Thresholds.ClippedWidth.Value * scale;
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

    private static (double Least, double Most) Extremes(double[] values)
    {
        double low = double.PositiveInfinity, high = double.NegativeInfinity;
        foreach (double v in values)
        {
            if (v < low) { low = v; }
            if (v > high) { high = v; }
        }
        return (low, high);
    }
}
