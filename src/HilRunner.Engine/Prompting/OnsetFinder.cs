namespace HilRunner.Engine.Prompting;

/// <summary>
/// Finds where motion changes: the point at which the short-time deviation does, by the centred cumulative sum of squares (Inclán and
/// Tiao, J. Am. Stat. Assoc. 89(427):913–923, 1994). The sum of squares up to each sample, as a share of all, is compared with the share of
/// samples; where they differ most, the deviation changed.
/// </summary>
public static class OnsetFinder
{
    /// <summary>Fewest samples on either side: less has no deviation to speak of.</summary>
    private const int Fewest = 10;

    /// <summary>Motion is not the independent noise of the method's own test, so a change must be plain: the deviation doubled or halved.</summary>
    public const double PlainRatio = 2;

    /// <param name="values">|a| in g, evenly spaced; where one motion passes into another.</param>
    /// <returns>Index of the first sample of the new motion; null: no plain change.</returns>
    public static int? Find(ReadOnlySpan<double> values)
    {
        int n = values.Length;
        if (n < 2 * Fewest) { return null; }
        double mean = 0;
        foreach (double value in values) { mean += value / n; }
        double all = 0;
        foreach (double value in values) { all += (value - mean) * (value - mean); }
        if (all == 0) { return null; }
        double sum = 0, most = 0, before = 0;
        int at = -1;
        for (int k = 1; k <= n - Fewest; k++)
        {
            sum += (values[k - 1] - mean) * (values[k - 1] - mean);
            double apart = Math.Abs(sum / all - (double)k / n);
            if (k >= Fewest && apart > most) { (most, at, before) = (apart, k, sum); }
        }
        if (at < 0) { return null; }
        double first = before / at, second = (all - before) / (n - at);
        double ratio = Math.Max(first, second) / Math.Min(first, second);
        return ratio >= PlainRatio * PlainRatio ? at : null;
    }
}
