using HilRunner.Core.Statistics;
using MathNet.Numerics.Distributions;

namespace HilRunner.Scoring.Sweeping;

/// <summary>
/// Share of trials that have switched, by level: p = 1/(1 + e^(−slope·(level − midpoint))), by maximum likelihood (Newton's method, which
/// for the logistic is iteratively reweighted least squares: McCullagh and Nelder, Generalized Linear Models, 1989, section 4.4).
/// </summary>
/// <param name="Midpoint">Level at which half have switched.</param>
/// <param name="MidpointInterval">By the delta method on the likelihood's curvature.</param>
/// <param name="Slope">Per unit of level; null where the trials part sharply, so that any steep slope fits (Albert and Anderson, Biometrika 71:1–10, 1984): the midpoint then lies in its interval, which is what no trial contradicts.</param>
public sealed record ResponseCurve(double Midpoint, Interval MidpointInterval, double? Slope, double? SlopeError)
{
    private const int MostSteps = 100;

    public double? At(double level) => Slope is { } slope ? 1 / (1 + Math.Exp(-slope * (level - Midpoint))) : null;

    /// <summary>Null where all trials went one way, or their share does not rise with the level.</summary>
    /// <param name="trials">Level, and whether it had switched.</param>
    public static ResponseCurve? Fit(IReadOnlyList<(double Level, bool Switched)> trials, double confidence)
    {
        ArgumentNullException.ThrowIfNull(trials);
        if (trials.All(t => t.Switched) || !trials.Any(t => t.Switched)) { return null; }
        double mostStill = trials.Where(t => !t.Switched).Max(t => t.Level), leastSwitched = trials.Where(t => t.Switched).Min(t => t.Level);
        if (mostStill <= leastSwitched) { return new((mostStill + leastSwitched) / 2, new(mostStill, leastSwitched), null, null); }
        // Only the other way round is there a finite answer no more.
        if (trials.Where(t => t.Switched).Max(t => t.Level) <= trials.Where(t => !t.Switched).Min(t => t.Level)) { return null; }
        return Newton(trials, confidence);
    }

    private static ResponseCurve? Newton(IReadOnlyList<(double Level, bool Switched)> trials, double confidence)
    {
        double centre = trials.Average(t => t.Level), scale = Math.Sqrt(trials.Average(t => (t.Level - centre) * (t.Level - centre)));
        double b0 = 0, b1 = 0, v00 = 0, v01 = 0, v11 = 0;
        for (int step = 0; step < MostSteps; step++)
        {
            double g0 = 0, g1 = 0, h00 = 0, h01 = 0, h11 = 0;
            foreach (var (level, switched) in trials)
            {
                double x = (level - centre) / scale, p = 1 / (1 + Math.Exp(-b0 - b1 * x)), left = (switched ? 1 : 0) - p, w = p * (1 - p);
                (g0, g1, h00, h01, h11) = (g0 + left, g1 + left * x, h00 + w, h01 + w * x, h11 + w * x * x);
            }
            double determinant = h00 * h11 - h01 * h01;
            (v00, v01, v11) = (h11 / determinant, -h01 / determinant, h00 / determinant);
            double d0 = v00 * g0 + v01 * g1, d1 = v01 * g0 + v11 * g1;
            (b0, b1) = (b0 + d0, b1 + d1);
            if (Math.Abs(d0) + Math.Abs(d1) > 1e-12 * (1 + Math.Abs(b0) + Math.Abs(b1))) { continue; }
            if (!(b1 > 0)) { return null; }
            double middle = -b0 / b1, error = Math.Sqrt(v00 + 2 * middle * v01 + middle * middle * v11) / b1;
            double half = Normal.InvCDF(0, 1, (1 + confidence) / 2) * error * scale, at = centre + middle * scale;
            return new(at, new(at - half, at + half), b1 / scale, Math.Sqrt(v11) / scale);
        }
        return null;
    }
}
