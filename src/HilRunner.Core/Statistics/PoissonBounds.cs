using MathNet.Numerics;

namespace HilRunner.Core.Statistics;

/// <summary>
/// Exact bounds on the mean of a Poisson count (Garwood, Biometrika 28:437–442, 1936): they err with at most the stated
/// probability, whatever the true mean is. Divided by the time in which was counted they bound a rate.
/// </summary>
public static class PoissonBounds
{
    /// <summary>
    /// With confidence <paramref name="confidence"/> (above 0, below 1) the mean is at least this: the one at which as many or
    /// more would have had the probability 1 − confidence.
    /// </summary>
    /// <param name="count">0 or more. Not whole where a count was divided by its dispersion.</param>
    public static double Lower(double count, double confidence)
    {
        Check(count, confidence);
        // P(X ≥ k) = P(k, m), the regularised lower incomplete gamma function.
        return count == 0 ? 0 : Root(count, mean => SpecialFunctions.GammaLowerRegularized(count, mean) < 1 - confidence);
    }

    /// <summary>With confidence <paramref name="confidence"/> the mean is at most this; of none, −ln(1 − confidence).</summary>
    public static double Upper(double count, double confidence)
    {
        Check(count, confidence);
        // P(X ≤ k) = Q(k + 1, m).
        return count == 0 ? -Math.Log(1 - confidence)
            : Root(count, mean => SpecialFunctions.GammaUpperRegularized(count + 1, mean) > 1 - confidence);
    }

    /// <summary>The last mean, down to neighbouring doubles, for which <paramref name="below"/> still holds.</summary>
    private static double Root(double count, Func<double, bool> below)
    {
        double low = 0, high = 2 * (count + 1);
        while (below(high)) { (low, high) = (high, 2 * high); }
        for (double middle = low + (high - low) / 2; middle > low && middle < high; middle = low + (high - low) / 2)
        {
            if (below(middle)) { low = middle; }
            else { high = middle; }
        }
        return low;
    }

    private static void Check(double count, double confidence)
    {
        if (!(count >= 0 && double.IsFinite(count)))
        {
            throw new ArgumentOutOfRangeException(nameof(count), count, "a count is 0 or more");
        }
        Confidence.Check(confidence);
    }
}
