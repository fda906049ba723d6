namespace HilRunner.Engine.Tests.Truth;

internal static class Binomial
{
    /// <summary>P(X ≤ <paramref name="k"/>) of n independent trials that each succeed with share p: exact, by its terms.</summary>
    public static double AtMost(int k, int n, double p)
    {
        // Logarithms: p^n alone is below the smallest double long before n = 100 000.
        double log = n * Math.Log(1 - p);
        double sum = 0;
        for (int i = 0; i <= k; i++)
        {
            sum += Math.Exp(log);
            log += Math.Log((double)(n - i) / (i + 1)) + Math.Log(p / (1 - p));
        }
        return Math.Min(1, sum);
    }
}
