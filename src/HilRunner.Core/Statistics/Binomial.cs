using MathNet.Numerics;

namespace HilRunner.Core.Statistics;

/// <summary>The binomial distribution: how many of n independent trials succeed when each does with probability p.</summary>
public static class Binomial
{
    /// <summary>P(X ≤ <paramref name="k"/>). By the regularised incomplete beta function: I_{1−p}(n − k, k + 1).</summary>
    public static double AtMost(int k, int n, double p)
    {
        Check(n, p);
        if (k < 0) { return 0; }
        if (k >= n || p == 0) { return 1; }
        return p == 1 ? 0 : SpecialFunctions.BetaRegularized(n - k, k + 1, 1 - p);
    }

    /// <summary>P(X ≥ <paramref name="k"/>), with its own precision where it is small.</summary>
    public static double AtLeast(int k, int n, double p)
    {
        Check(n, p);
        if (k <= 0) { return 1; }
        if (k > n || p == 0) { return 0; }
        return p == 1 ? 1 : SpecialFunctions.BetaRegularized(k, n - k + 1, p);
    }

    /// <summary>P(X = <paramref name="k"/>).</summary>
    public static double Exactly(int k, int n, double p)
    {
        Check(n, p);
        if (k < 0 || k > n) { return 0; }
        if (p is 0 or 1) { return k == (p == 0 ? 0 : n) ? 1 : 0; }
        return Math.Exp(SpecialFunctions.BinomialLn(n, k) + k * Math.Log(p) + (n - k) * Math.Log(1 - p));
    }

    private static void Check(int n, double p)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(n);
        if (!(p is >= 0 and <= 1)) { throw new ArgumentOutOfRangeException(nameof(p), p, "a probability lies in 0 to 1"); }
    }
}
