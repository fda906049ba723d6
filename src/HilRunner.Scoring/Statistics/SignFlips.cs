using HilRunner.Core.Statistics;

namespace HilRunner.Scoring.Statistics;

/// <summary>
/// Do paired differences lie around 0? If nothing changed, each might as well have had the other sign (Fisher, The Design of
/// Experiments, 1935). With differences of 1 alone this is <see cref="McNemar"/>'s exact test.
/// </summary>
public static class SignFlips
{
    /// <param name="differences">Of independent units; finite. Those of 0 say nothing.</param>
    /// <param name="seed">Of the draws, where there are too many sums to reckon each.</param>
    public static ArrangementTest Test(IEnumerable<double> differences, int seed)
    {
        double[] all = [.. differences.Where(d => d != 0)];
        if (all.Any(d => !double.IsFinite(d))) { throw new ArgumentException("a difference is not finite", nameof(differences)); }
        // Equal sizes are counted together: that makes the sums few.
        var sizes = all.GroupBy(d => Math.Round(Math.Abs(d), 12)).Select(g => (Size: g.Key, Count: g.Count()));
        return Arrangements.Test(all.Sum(), [.. sizes.Select(s => Part(s.Size, s.Count))], seed);
    }

    private static ArrangedPart Part(double size, int count) => new(
        [.. Enumerable.Range(0, count + 1).Select(plus => (size * (2 * plus - count), Binomial.Exactly(plus, count, 0.5)))],
        random =>
        {
            double sum = 0;
            for (int i = 0; i < count; i++) { sum += random.Next(2) == 0 ? size : -size; }
            return sum;
        });
}
