using MathNet.Numerics;

namespace HilRunner.Scoring.Statistics;

/// <summary>
/// Do two shares that are not paired differ (Fisher, J. R. Stat. Soc. 98:39–82, 1935)? Two-sided: all tables with the same margins that are no likelier than the one seen.
/// </summary>
public static class FisherExact
{
    /// <summary>Tables whose chances differ by rounding only count as equally likely.</summary>
    private const double Slack = 1 + 1e-7;

    /// <returns>Null where one of the two has no trials.</returns>
    public static double? Test(int successesBefore, int trialsBefore, int successesNow, int trialsNow)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(successesBefore);
        ArgumentOutOfRangeException.ThrowIfNegative(successesNow);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(successesBefore, trialsBefore);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(successesNow, trialsNow);
        if (trialsBefore == 0 || trialsNow == 0) { return null; }
        int successes = successesBefore + successesNow;
        double whole = SpecialFunctions.BinomialLn(trialsBefore + trialsNow, successes);
        double Chance(int k) => Math.Exp(SpecialFunctions.BinomialLn(trialsBefore, k) + SpecialFunctions.BinomialLn(trialsNow, successes - k) - whole);
        double seen = Chance(successesBefore) * Slack, p = 0;
        for (int k = Math.Max(0, successes - trialsNow); k <= Math.Min(trialsBefore, successes); k++)
        {
            double chance = Chance(k);
            if (chance <= seen) { p += chance; }
        }
        return Math.Min(1, p);
    }
}
