namespace HilRunner.Benchmarks.Pacing;

/// <summary>Lateness in µs of a block's moments: those of playout.csv as they are, those of cyclictest in its whole microseconds.</summary>
internal sealed class Lateness
{
    private readonly double[] _sorted;

    public Lateness(IEnumerable<double> us) => _sorted = [.. us.Order()];

    public int Count => _sorted.Length;

    /// <summary>Type 1 of Hyndman and Fan 1996: the smallest value with at least that share at or below it.</summary>
    public double Quantile(decimal share) => _sorted[Math.Max(1, (int)Math.Ceiling(share * _sorted.Length)) - 1];

    public static Lateness Pool(IEnumerable<Lateness> blocks) => new(blocks.SelectMany(b => b._sorted));

    /// <summary>
    /// With the moments that passed while a wake-up was late. cyclictest leaves them out (its next moment is the first one still to come), a
    /// player cannot: each of its samples is due, so a stall of ten periods is ten late samples there and one value here.
    /// </summary>
    public Lateness WithPassedMoments(double periodUs) => new(_sorted.SelectMany(us => Passed(us, periodUs)));

    private static IEnumerable<double> Passed(double us, double periodUs)
    {
        yield return us;
        for (double left = us - periodUs; left > 0; left -= periodUs) { yield return left; }
    }
}
