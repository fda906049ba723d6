namespace HilRunner.Emulated.Tests.Truth;

/// <summary>The exact binomial distribution.</summary>
internal static class Binomial
{
    /// <summary>P(X ≤ k) of n trials with probability p each, by the recurrence of its terms from the largest down.</summary>
    public static double AtMost(int k, int n, double p)
    {
        if (k >= n) { return 1; }
        double log = 0;
        for (int i = 0; i < k; i++) { log += Math.Log((double)(n - i) / (i + 1) * p / (1 - p)); }
        double term = Math.Exp(log + n * Math.Log(1 - p)), sum = 0;
        for (int i = k; i >= 0 && term > 0; i--)
        {
            sum += term;
            term *= (double)i / (n - i + 1) * (1 - p) / p;
        }
        return sum;
    }
}
