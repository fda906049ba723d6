using HilRunner.Core.Files;

namespace HilRunner.Inspection;

/// <summary>Robust figures: medians, and the median absolute deviation scaled to agree with a normal distribution's deviation.</summary>
internal static class Statistics
{
    /// <summary>1 ÷ Φ⁻¹(3/4): the median absolute deviation of a normal distribution times this is its standard deviation.</summary>
    public const double NormalConsistency = 1.482602218505602;

    /// <summary>Most values that a median over samples looks at.</summary>
    private const int MostSampled = 200_000;

    /// <summary>NaN when there are none. The input stays as it is.</summary>
    public static double Median(IEnumerable<double> values)
    {
        var all = new SeriesBuilder<double>();
        foreach (double value in values) { all.Add(value); }
        return Selection.Median(all.Build());
    }

    /// <summary>NaN when there are none.</summary>
    public static double Deviation(IReadOnlyCollection<double> values, double median) =>
        values.Count == 0 ? double.NaN : NormalConsistency * Median(values.Select(v => Math.Abs(v - median)));

    /// <summary>The finite ones of a channel's values, evenly thinned out to a number that can be sorted quickly.</summary>
    public static List<double> Sampled(Series<double> values)
    {
        int step = Math.Max(1, values.Length / MostSampled);
        var sampled = new List<double>(values.Length / step + 1);
        for (int i = 0; i < values.Length; i += step)
        {
            double value = values[i];
            if (double.IsFinite(value)) { sampled.Add(value); }
        }
        return sampled;
    }
}
