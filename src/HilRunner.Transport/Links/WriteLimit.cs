namespace HilRunner.Transport.Links;

/// <summary>How long a write may wait: zero or more (at most about 24 days), or <see cref="Timeout.InfiniteTimeSpan"/>.</summary>
internal static class WriteLimit
{
    public static void Check(TimeSpan limit)
    {
        if (limit == Timeout.InfiniteTimeSpan) { return; }
        ArgumentOutOfRangeException.ThrowIfLessThan(limit, TimeSpan.Zero);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(limit.TotalMilliseconds, int.MaxValue, nameof(limit));
    }

    /// <summary>What is left in whole milliseconds, rounded up; -1 without a limit, as poll and Monitor.Wait have it.</summary>
    public static int RemainingMs(TimeSpan limit, long elapsedNs)
    {
        if (limit == Timeout.InfiniteTimeSpan) { return Timeout.Infinite; }
        long leftNs = limit.Ticks * 100 - elapsedNs;
        return leftNs <= 0 ? 0 : (int)Math.Min((leftNs + 999_999) / 1_000_000, int.MaxValue);
    }
}
