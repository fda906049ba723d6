namespace HilRunner.Core.Statistics;

/// <summary>
/// Exact bounds on the share of a population from k of n independent trials (Clopper and Pearson, Biometrika 26:404–413, 1934): they err with at
/// most the stated probability, whatever the true share is.
/// </summary>
public static class BinomialBounds
{
    /// <summary>
    /// With confidence <paramref name="confidence"/> (above 0, below 1) the share is at least this: the p at which as many successes or more would
    /// have had the probability 1 − confidence. Null for 0 trials.
    /// </summary>
    public static double? Lower(int successes, int trials, double confidence)
    {
        Check(successes, trials, confidence);
        if (trials == 0) { return null; }
        if (successes == 0) { return 0; }
        if (successes == trials) { return Math.Pow(1 - confidence, 1.0 / trials); }
        return Root(p => Binomial.AtLeast(successes, trials, p) < 1 - confidence);
    }

    /// <summary>With confidence <paramref name="confidence"/> the share is at most this. Null for 0 trials.</summary>
    public static double? Upper(int successes, int trials, double confidence)
    {
        Check(successes, trials, confidence);
        if (trials == 0) { return null; }
        if (successes == trials) { return 1; }
        if (successes == 0) { return 1 - Math.Pow(1 - confidence, 1.0 / trials); }
        return Root(p => Binomial.AtMost(successes, trials, p) > 1 - confidence);
    }

    /// <summary>Both bounds, each with half of the risk. Null for 0 trials.</summary>
    public static Interval? TwoSided(int successes, int trials, double confidence)
    {
        double oneSided = (1 + confidence) / 2;
        return Lower(successes, trials, oneSided) is { } low ? new(low, Upper(successes, trials, oneSided)!.Value) : null;
    }

    /// <summary>The last p, down to neighbouring doubles, for which <paramref name="below"/> still holds.</summary>
    private static double Root(Func<double, bool> below)
    {
        double low = 0, high = 1;
        for (double middle = 0.5; middle > low && middle < high; middle = low + (high - low) / 2)
        {
            if (below(middle)) { low = middle; }
            else { high = middle; }
        }
        return low;
    }

    private static void Check(int successes, int trials, double confidence)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(successes);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(successes, trials);
        Confidence.Check(confidence);
    }
}
