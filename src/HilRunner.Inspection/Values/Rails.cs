using HilRunner.Core.Files;

namespace HilRunner.Inspection.Values;

/// <summary>
/// Where the values of a sensor end. Full scale is one for all its axes and both directions: the stated one; or a usual one (±2, 4, 8 … g; ±125, 250 … °/s)
/// that at least three of their samples reach. Else, for each channel and direction, the extreme where it is held over three samples
/// running, half a g (or 10 °/s) or more from the median and from zero.
/// </summary>
internal sealed class Rails
{
    private static readonly double[] s_usualG = [2, 4, 8, 16, 32, 64, 100, 200, 400];
    private static readonly double[] s_usualDps = [125, 250, 500, 1000, 2000, 4000];

    /// <summary>So that a value that lies on the rail in decimal digits is not beside it in binary ones.</summary>
    private const double Rounding = 1e-9;

    private readonly double _far;

    /// <param name="channels">All axes of one sensor.</param>
    /// <param name="stated">Full scale in their unit; null: not stated.</param>
    public Rails(IReadOnlyList<Series<double>> channels, double? stated, bool acceleration)
    {
        _far = acceleration ? 0.5 : 10;
        double extreme = 0;
        foreach (var values in channels)
        {
            foreach (double v in values) { if (Math.Abs(v) > extreme) { extreme = Math.Abs(v); } }
        }
        FullScale = stated is { } range ? Stated(extreme, range) : Usual(channels, extreme, acceleration ? s_usualG : s_usualDps);
    }

    /// <summary>Values from here on, either way, are clipped; null: nothing reaches full scale.</summary>
    public double? FullScale { get; }

    /// <summary>Low: values at or below are clipped; high: at or above. Infinite where there is no rail.</summary>
    public (double Low, double High) Of(Series<double> values)
    {
        if (FullScale is { } rail) { return (-rail, rail); }
        double median = Statistics.Median(Statistics.Sampled(values));
        return (-Held(values, -1, -median), Held(values, 1, median));
    }

    private static double? Stated(double extreme, double range) =>
        extreme < range * (1 - Thresholds.ClippedRail.Value) ? null : Math.Min(extreme, range) - Thresholds.ClippedWidth.Value * range - Rounding;

    private static double? Usual(IReadOnlyList<Series<double>> channels, double extreme, double[] usual)
    {
        foreach (double scale in usual)
        {
            if (Math.Abs(extreme - scale) > Thresholds.ClippedRail.Value * scale) { continue; }
            double rail = extreme - Thresholds.ClippedWidth.Value * scale - Rounding;
            if (channels.Sum(c => c.Count(v => Math.Abs(v) >= rail)) >= Thresholds.ClippedLeast.Value) { return rail; }
        }
        return null;
    }

    /// <summary>The greatest of values × sign where it stands three times running, far from the median.</summary>
    private double Held(Series<double> values, int sign, double median)
    {
        double extreme = double.NegativeInfinity;
        foreach (double v in values) { if (v * sign > extreme) { extreme = v * sign; } }
        // A value held near zero is a lost signal, not the end of a range.
        if (!(extreme - median >= _far && extreme >= _far)) { return double.PositiveInfinity; }
        int run = 0;
        foreach (double v in values)
        {
            run = v * sign >= extreme ? run + 1 : 0;
            if (run >= Thresholds.ClippedLeast.Value) { return extreme; }
        }
        return double.PositiveInfinity;
    }
}
