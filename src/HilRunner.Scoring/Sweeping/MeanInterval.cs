using HilRunner.Core.Statistics;
using MathNet.Numerics.Distributions;

namespace HilRunner.Scoring.Sweeping;

/// <summary>A mean with its interval, by Student's t.</summary>
public readonly record struct MeanInterval(double Mean, Interval Interval)
{
    /// <param name="values">Finite, independent of each other.</param>
    /// <param name="alone">Half-width where there is one value only.</param>
    /// <param name="confidence">0 to 1, two-sided.</param>
    /// <exception cref="ArgumentException">There is no value.</exception>
    public static MeanInterval Of(IReadOnlyList<double> values, double alone, double confidence)
    {
        ArgumentNullException.ThrowIfNull(values);
        if (values.Count == 0) { throw new ArgumentException("no values", nameof(values)); }
        double mean = values.Average();
        double half = values.Count == 1 ? alone : HalfWidth(Math.Sqrt(values.Sum(v => (v - mean) * (v - mean)) / (values.Count - 1)), values.Count, confidence);
        return new(mean, new(mean - half, mean + half));
    }

    /// <summary>t · s/√n, with n − 1 degrees of freedom.</summary>
    public static double HalfWidth(double deviation, int count, double confidence) =>
        StudentT.InvCDF(0, 1, count - 1, (1 + confidence) / 2) * deviation / Math.Sqrt(count);
}
