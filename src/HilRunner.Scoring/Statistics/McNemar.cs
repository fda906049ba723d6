using HilRunner.Core.Statistics;

namespace HilRunner.Scoring.Statistics;

/// <summary>
/// Did the share of successes change between two tests of the same trials? Only the trials that changed say anything: under no change each way is as
/// likely (McNemar, Psychometrika 12:153–157, 1947; exact and mid-p forms: Fagerland, Lydersen, Laake, BMC Med. Res. Methodol. 13:91, 2013).
/// </summary>
/// <param name="Exact">Two-sided exact p: min(1, 2 P(B(n, ½) ≤ min)). 1 where nothing changed.</param>
/// <param name="MidP">Exact less P(B(n, ½) = min), which is less conservative but not bounded by the level; 1 where both ways are equally frequent.</param>
public readonly record struct McNemar(double Exact, double MidP)
{
    /// <param name="lost">Trials that succeeded only before.</param>
    /// <param name="gained">Trials that succeed only now.</param>
    public static McNemar Test(int lost, int gained)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(lost);
        ArgumentOutOfRangeException.ThrowIfNegative(gained);
        if (lost == gained) { return new(1, 1); }
        int fewer = Math.Min(lost, gained), n = lost + gained;
        double exact = Math.Min(1, 2 * Binomial.AtMost(fewer, n, 0.5));
        return new(exact, exact - Binomial.Exactly(fewer, n, 0.5));
    }

    /// <summary>The fewest changed trials that can show a change at the level: all of them in one direction, 2 · ½ⁿ ≤ level. 6 at 5 %.</summary>
    public static int FewestThatShow(double level)
    {
        if (!(level is > 0 and < 1)) { throw new ArgumentOutOfRangeException(nameof(level), level, "a level lies above 0 and below 1"); }
        int n = 1;
        while (Math.ScaleB(2, -n) > level) { n++; }
        return n;
    }
}
