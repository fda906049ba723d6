using HilRunner.Core.Statistics;
using MathNet.Numerics.Distributions;
using Binomial = HilRunner.Core.Statistics.Binomial;

namespace HilRunner.Scoring.Statistics;

/// <summary>What paired trials say of a difference of shares, and what they could say.</summary>
public static class PairedShares
{
    private const int MostPairs = 1_000_000;

    /// <summary>
    /// Interval of the difference of shares, now less before (Newcombe, Stat. Med. 17:2635–2650, 1998, method 10: Wilson limits of both shares, joined with their
    /// correlation). Null for 0 pairs.
    /// </summary>
    /// <param name="both">Succeeded before and now.</param>
    /// <param name="lost">Only before.</param>
    /// <param name="gained">Only now.</param>
    /// <param name="neither">Neither.</param>
    /// <remarks>Shares of several plays of a pair may be given as parts of one.</remarks>
    public static Interval? Difference(double both, double lost, double gained, double neither, double confidence)
    {
        Confidence.Check(confidence);
        double n = both + lost + gained + neither;
        if (n == 0) { return null; }
        double z = Normal.InvCDF(0, 1, (1 + confidence) / 2);
        double now = (both + gained) / n, before = (both + lost) / n;
        var (nowLow, nowHigh) = Wilson(now, n, z);
        var (beforeLow, beforeHigh) = Wilson(before, n, z);
        double correlation = Correlation(both, gained, lost, neither);
        double down = Math.Sqrt(Math.Max(0, Square(now - nowLow) - 2 * correlation * (now - nowLow) * (beforeHigh - before) + Square(beforeHigh - before)));
        double up = Math.Sqrt(Math.Max(0, Square(before - beforeLow) - 2 * correlation * (before - beforeLow) * (nowHigh - now) + Square(nowHigh - now)));
        return new(now - before - down, now - before + up);
    }

    /// <summary>The smallest drop that <paramref name="pairs"/> pairs could have shown at the level: as few changed pairs as can show anything, all of them lost. Null: none.</summary>
    public static double? SmallestChange(int pairs, double level)
    {
        int fewest = McNemar.FewestThatShow(level);
        return pairs < fewest ? null : (double)fewest / pairs;
    }

    /// <summary>The chance that the exact two-sided test shows a change, in whichever direction.</summary>
    /// <param name="lost">Chance that a pair succeeds only before.</param>
    /// <param name="gained">Chance that it succeeds only now.</param>
    public static double Power(int pairs, double lost, double gained, double level)
    {
        double changed = lost + gained;
        if (!(lost >= 0 && gained >= 0 && changed <= 1)) { throw new ArgumentOutOfRangeException(nameof(lost), lost, "chances of lost and gained lie in 0 to 1, their sum too"); }
        if (changed == 0) { return 0; }
        double power = 0;
        for (int d = McNemar.FewestThatShow(level); d <= pairs; d++)
        {
            double chance = Binomial.Exactly(d, pairs, changed);
            if (chance < 1e-18) { continue; }
            int critical = Critical(d, level);
            power += chance * (Binomial.AtMost(critical, d, lost / changed) + Binomial.AtLeast(d - critical, d, lost / changed));
        }
        return power;
    }

    /// <summary>The fewest pairs from which on <paramref name="power"/> is kept. Null: more than a million.</summary>
    public static int? Pairs(double lost, double gained, double level, double power)
    {
        if (!(power is > 0 and < 1)) { throw new ArgumentOutOfRangeException(nameof(power), power, "a power lies above 0 and below 1"); }
        if (lost == gained) { throw new ArgumentOutOfRangeException(nameof(lost), lost, "no change can be shown where as many are lost as gained"); }
        int enough = McNemar.FewestThatShow(level);
        while (Power(enough, lost, gained, level) < power)
        {
            if (enough > MostPairs) { return null; }
            enough += Math.Max(1, enough / 50);
        }
        // The power is a saw-tooth over the pairs: back to the last number that does not keep it.
        while (enough > 1 && Power(enough - 1, lost, gained, level) >= power) { enough--; }
        return enough;
    }

    /// <summary>The most pairs on the rarer side with which d changed pairs still show a change; −1: none.</summary>
    private static int Critical(int d, double level)
    {
        int low = -1, high = d / 2;
        while (low < high)
        {
            int middle = low + (high - low + 1) / 2;
            if (McNemar.Test(middle, d - middle).Exact <= level) { low = middle; }
            else { high = middle - 1; }
        }
        return low;
    }

    private static (double Low, double High) Wilson(double share, double n, double z)
    {
        double middle = 2 * n * share + z * z, half = z * Math.Sqrt(z * z + 4 * n * share * (1 - share));
        return ((middle - half) / (2 * (n + z * z)), (middle + half) / (2 * (n + z * z)));
    }

    /// <summary>φ of the four cells, its numerator eh − fg less n/2 where positive, but not below 0; 0 where a margin is empty.</summary>
    private static double Correlation(double e, double f, double g, double h)
    {
        double margins = (e + f) * (g + h) * (e + g) * (f + h);
        if (margins == 0) { return 0; }
        double numerator = e * h - f * g;
        if (numerator > 0) { numerator = Math.Max(numerator - (e + f + g + h) / 2, 0); }
        return numerator / Math.Sqrt(margins);
    }

    private static double Square(double value) => value * value;
}
