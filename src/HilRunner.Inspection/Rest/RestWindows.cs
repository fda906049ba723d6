using HilRunner.Core.Files;

namespace HilRunner.Inspection.Rest;

/// <summary>Three values, one for each axis.</summary>
internal readonly record struct Triple(double X, double Y, double Z)
{
    public double this[int axis] => axis == 0 ? X : axis == 1 ? Y : Z;
    public double Length => Math.Sqrt(X * X + Y * Y + Z * Z);
    public double Largest => Math.Max(X, Math.Max(Y, Z));
}

/// <summary>A second of acceleration: samples [From, To).</summary>
/// <param name="Deviation">Standard deviation (n) of each axis, g.</param>
/// <param name="Noise">Standard deviation of the steps ÷ √2, g.</param>
internal readonly record struct SecondWindow(int From, int To, Triple Mean, Triple Deviation, Triple Noise)
{
    public bool IsStill => Deviation.Largest <= Thresholds.StillDeviation.Value;
}

/// <summary>Acceleration in whole seconds that do not overlap, from the start of every unbroken stretch on; at least eight samples each.</summary>
internal sealed class RestWindows
{
    private const int LeastSamples = 8;

    private RestWindows(Series<SecondWindow> all)
    {
        All = all;
        Still = Kept(all, w => w.IsStill);
        Quietest = QuietestOf(all);
    }

    public Series<SecondWindow> All { get; }
    public Series<SecondWindow> Still { get; }

    /// <summary>
    /// The tenth with the least deviation on its worst axis, three at least where there are as many; in the order of the
    /// recording.
    /// </summary>
    public Series<SecondWindow> Quietest { get; }

    /// <summary>The still ones by the axis that was up (<see cref="UpAxes"/>): how many of each.</summary>
    public IReadOnlyDictionary<string, int> StillByUp(double leastShare)
    {
        var counts = new Dictionary<string, int>(StringComparer.Ordinal);
        foreach (var window in Still)
        {
            string up = UpAxes.Of(window.Mean, leastShare);
            counts[up] = counts.GetValueOrDefault(up) + 1;
        }
        return counts;
    }

    private static Series<SecondWindow> QuietestOf(Series<SecondWindow> all)
    {
        int wanted = Math.Min(all.Length, Math.Max((int)Thresholds.StillLeast.Value, all.Length / 10));
        if (wanted == 0) { return new([]); }
        var deviations = new SeriesBuilder<double>();
        foreach (var window in all) { deviations.Add(window.Deviation.Largest); }
        double most = Selection.At(deviations.Build(), wanted - 1);
        int below = 0;
        foreach (var window in all) { below += window.Deviation.Largest < most ? 1 : 0; }
        // Of those that are as quiet as the last one taken, the first ones.
        int alike = wanted - below;
        return Kept(all, w => w.Deviation.Largest < most || (w.Deviation.Largest == most && alike-- > 0));
    }

    private static Series<SecondWindow> Kept(Series<SecondWindow> all, Func<SecondWindow, bool> keep)
    {
        var kept = new SeriesBuilder<SecondWindow>();
        foreach (var window in all)
        {
            if (keep(window)) { kept.Add(window); }
        }
        return kept.Build();
    }

    public static RestWindows Of(InspectionContext context)
    {
        if (context.Acceleration is not { } a) { return new(new Series<SecondWindow>([])); }
        int length = Math.Max(LeastSamples, (int)Math.Round(Thresholds.StillWindow.Value * context.RateHz));
        var all = new SeriesBuilder<SecondWindow>();
        foreach (var (from, to) in context.Unbroken)
        {
            for (int start = from; start + length <= to; start += length)
            {
                var x = Axis(a[0].Read(start, length));
                var y = Axis(a[1].Read(start, length));
                var z = Axis(a[2].Read(start, length));
                all.Add(new(start, start + length, new(x.Mean, y.Mean, z.Mean), new(x.Deviation, y.Deviation, z.Deviation), new(x.Noise, y.Noise, z.Noise)));
            }
        }
        return new(all.Build());
    }

    private static (double Mean, double Deviation, double Noise) Axis(ReadOnlySpan<double> values)
    {
        // Around the first value: small differences on top of 1 g keep their digits.
        double first = values[0], sum = 0, squares = 0, steps = 0;
        for (int i = 1; i < values.Length; i++)
        {
            double off = values[i] - first, step = values[i] - values[i - 1];
            sum += off;
            squares += off * off;
            steps += step * step;
        }
        double mean = sum / values.Length, meanStep = (values[^1] - first) / (values.Length - 1);
        double variance = Math.Max(0, squares / values.Length - mean * mean);
        double stepVariance = Math.Max(0, steps / (values.Length - 1) - meanStep * meanStep);
        return (first + mean, Math.Sqrt(variance), Math.Sqrt(stepVariance / 2));
    }
}
