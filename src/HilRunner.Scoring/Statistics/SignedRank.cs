using MathNet.Numerics.Distributions;

namespace HilRunner.Scoring.Statistics;

/// <summary>
/// Wilcoxon's signed rank test of paired differences (Wilcoxon, Biometrics Bull. 1:80–83, 1945): do they lie around 0? Differences of 0 say nothing and are left out;
/// equal sizes share their mean rank. Up to <see cref="MostExact"/> differences by the exact distribution, with ties too (over doubled ranks); beyond
/// by the normal approximation with tie and continuity correction.
/// </summary>
/// <param name="Sum">V, the sum of the ranks of the positive differences.</param>
/// <param name="N">Differences other than 0.</param>
/// <param name="P">Two-sided. 1 where no difference is other than 0.</param>
public readonly record struct SignedRank(double Sum, int N, double P)
{
    public const int MostExact = 200;

    /// <param name="differences">Finite.</param>
    public static SignedRank Test(IEnumerable<double> differences)
    {
        double[] all = [.. differences.Where(d => d != 0)];
        if (all.Any(d => !double.IsFinite(d))) { throw new ArgumentException("a difference is not finite", nameof(differences)); }
        if (all.Length == 0) { return new(0, 0, 1); }
        int[] doubled = Ranks.Doubled([.. all.Select(Math.Abs)]);
        long sum = 0;
        for (int i = 0; i < all.Length; i++) { if (all[i] > 0) { sum += doubled[i]; } }
        return new(sum / 2.0, all.Length, all.Length <= MostExact ? Exact(doubled, sum) : Approximate(doubled, sum / 2.0));
    }

    /// <summary>Half-width of the exact distribution: the largest c with P(V &lt; c) ≤ risk, for n differences without ties; 0 where even V = 0 is likelier.</summary>
    internal static long Critical(int n, double risk)
    {
        if (n > MostExact)
        {
            double mean = n * (n + 1.0) / 4, deviation = Math.Sqrt(n * (n + 1.0) * (2.0 * n + 1) / 24);
            return Math.Max(0, (long)Math.Floor(mean + deviation * Normal.InvCDF(0, 1, risk)));
        }
        double[] chances = Chances([.. Enumerable.Range(1, n)]);
        double below = 0;
        for (int v = 0; v < chances.Length; v++)
        {
            below += chances[v];
            if (below > risk) { return v; }
        }
        return chances.Length;
    }

    private static double Exact(int[] doubled, long sum)
    {
        double[] chances = Chances(doubled);
        double atMost = 0, atLeast = 0;
        for (int v = 0; v < chances.Length; v++)
        {
            if (v <= sum) { atMost += chances[v]; }
            if (v >= sum) { atLeast += chances[v]; }
        }
        return Math.Min(1, 2 * Math.Min(atMost, atLeast));
    }

    /// <summary>P(sum = v) when each rank counts or not with probability ½.</summary>
    private static double[] Chances(int[] ranks)
    {
        double[] chances = new double[ranks.Sum() + 1];
        chances[0] = 1;
        int reached = 0;
        foreach (int rank in ranks)
        {
            for (int v = reached + rank; v >= 0; v--)
            {
                chances[v] = (chances[v] + (v >= rank ? chances[v - rank] : 0)) / 2;
            }
            reached += rank;
        }
        return chances;
    }

    private static double Approximate(int[] doubled, double sum)
    {
        double n = doubled.Length, mean = n * (n + 1) / 4;
        double variance = n * (n + 1) * (2 * n + 1) / 24 - Ranks.TieTerm(doubled) / 48;
        double distance = Math.Max(0, Math.Abs(sum - mean) - 0.5);
        return Math.Min(1, 2 * Normal.CDF(0, 1, -distance / Math.Sqrt(variance)));
    }
}
