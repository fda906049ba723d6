using HilRunner.Core.Statistics;
using MathNet.Numerics.Distributions;

namespace HilRunner.Scoring.Statistics;

/// <summary>How far two means lie apart, variances not taken to be equal (Welch, Biometrika 34:28–35, 1947).</summary>
/// <param name="Shift">Now less before.</param>
/// <param name="P">Of no difference, two-sided.</param>
public readonly record struct Welch(double Shift, Interval Interval, double P)
{
    /// <summary>Null where a side has fewer than two values: nothing says how far they scatter.</summary>
    public static Welch? Test(IReadOnlyList<double> before, IReadOnlyList<double> now, double confidence)
    {
        ArgumentNullException.ThrowIfNull(before);
        ArgumentNullException.ThrowIfNull(now);
        Confidence.Check(confidence);
        if (before.Count < 2 || now.Count < 2) { return null; }
        double a = SquaredError(before), b = SquaredError(now), shift = now.Average() - before.Average();
        if (a + b == 0) { return new(shift, new(shift, shift), shift == 0 ? 1 : 0); }
        double degrees = (a + b) * (a + b) / (a * a / (before.Count - 1) + b * b / (now.Count - 1)), error = Math.Sqrt(a + b);
        double half = StudentT.InvCDF(0, 1, degrees, (1 + confidence) / 2) * error;
        return new(shift, new(shift - half, shift + half), 2 * StudentT.CDF(0, 1, degrees, -Math.Abs(shift) / error));
    }

    private static double SquaredError(IReadOnlyList<double> values)
    {
        double mean = values.Average();
        return values.Sum(v => (v - mean) * (v - mean)) / (values.Count - 1) / values.Count;
    }
}
