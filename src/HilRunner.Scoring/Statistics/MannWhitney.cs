using MathNet.Numerics.Distributions;

namespace HilRunner.Scoring.Statistics;

/// <summary>
/// Do two series that are not paired lie apart (Mann and Whitney, Ann. Math. Stat. 18:50–60, 1947)? Without ties and up to <see cref="MostExact"/> values each
/// by the exact distribution, else by the normal approximation with tie and continuity correction.
/// </summary>
/// <param name="U">Of the first series: how many pairs it wins, ties as half.</param>
/// <param name="P">Two-sided; null where a series is empty.</param>
public readonly record struct MannWhitney(double U, double? P)
{
    public const int MostExact = 50;

    /// <param name="x">May hold infinite values, which are ties of each other.</param>
    public static MannWhitney Test(IReadOnlyList<double> x, IReadOnlyList<double> y)
    {
        int n = x.Count, m = y.Count;
        if (n == 0 || m == 0) { return new(0, null); }
        int[] doubled = Ranks.Doubled([.. x, .. y]);
        double u = doubled.Take(n).Sum(r => (long)r) / 2.0 - n * (n + 1.0) / 2;
        double ties = Ranks.TieTerm(doubled);
        return new(u, ties == 0 && Math.Max(n, m) <= MostExact ? Exact(n, m, (long)u) : Approximate(n, m, u, ties));
    }

    /// <summary>The largest c with P(U &lt; c) ≤ risk.</summary>
    internal static long Critical(int n, int m, double risk)
    {
        if (Math.Max(n, m) > MostExact)
        {
            double mean = (double)n * m / 2, deviation = Math.Sqrt((double)n * m * (n + m + 1.0) / 12);
            return Math.Max(0, (long)Math.Floor(mean + deviation * Normal.InvCDF(0, 1, risk)));
        }
        double[] chances = Chances(n, m);
        double below = 0;
        for (int u = 0; u < chances.Length; u++)
        {
            below += chances[u];
            if (below > risk) { return u; }
        }
        return chances.Length;
    }

    private static double Exact(int n, int m, long u)
    {
        double[] chances = Chances(n, m);
        double tail = chances.Take((int)Math.Min(u, (long)n * m - u) + 1).Sum();
        return Math.Min(1, 2 * tail);
    }

    /// <summary>P(U = u): of all ways to choose which of the n + m ranks are the first series'.</summary>
    private static double[] Chances(int n, int m)
    {
        // f[j][u]: ways to take j of the ranks seen so far with U = u, scaled at the end; doubles hold C(100, 50) to 1e-16 of itself.
        double[][] ways = [.. Enumerable.Range(0, n + 1).Select(_ => new double[n * m + 1])];
        ways[0][0] = 1;
        for (int rank = 1; rank <= n + m; rank++)
        {
            for (int j = Math.Min(n, rank); j >= 1; j--)
            {
                // Taken as the j-th smallest of the first series, it is above rank − j of the second.
                int gain = rank - j;
                if (gain > m) { continue; }
                for (int u = n * m; u >= gain; u--) { ways[j][u] += ways[j - 1][u - gain]; }
            }
        }
        double all = ways[n].Sum();
        return [.. ways[n].Select(w => w / all)];
    }

    private static double Approximate(double n, double m, double u, double ties)
    {
        double all = n + m;
        double variance = n * m / 12 * (all + 1 - ties / (all * (all - 1)));
        if (variance <= 0) { return 1; }
        double distance = Math.Max(0, Math.Abs(u - n * m / 2) - 0.5);
        return Math.Min(1, 2 * Normal.CDF(0, 1, -distance / Math.Sqrt(variance)));
    }
}
