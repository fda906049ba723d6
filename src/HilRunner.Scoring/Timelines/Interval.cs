namespace HilRunner.Scoring.Timelines;

/// <summary>Stimulus time [Start, End) in nanoseconds, of one class.</summary>
internal readonly record struct Interval(long Start, long End, string Class)
{
    /// <summary>Half-width of the interval around Start that holds the true onset.</summary>
    public long Uncertainty { get; init; }

    public long Length => End - Start;
}

/// <summary>A maximal union of abutting scored intervals, [Start, End) in nanoseconds.</summary>
internal readonly record struct Stretch(long Start, long End);

internal static class Nanoseconds
{
    /// <summary>a + b for b ≥ 0, held at the largest time there is: a window that long never ends.</summary>
    public static long AddHeld(long a, long b) => a > long.MaxValue - b ? long.MaxValue : a + b;
}
