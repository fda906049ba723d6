namespace HilRunner.Core.Time;

/// <summary>Makes a device's wrapping sample numbers run on.</summary>
public static class WrappedNumber
{
    /// <summary>
    /// The largest sample number that shows as <paramref name="raw"/> and is not beyond what was sent by more than a quarter of a
    /// wrap. Right as long as the device is less than three quarters of a wrap behind: a counter of 8 bits at 100 Hz may lag by
    /// 1.9 s.
    /// </summary>
    /// <param name="raw">As the device says it.</param>
    /// <param name="wraps">It begins anew after so many samples; 0: it does not wrap.</param>
    /// <param name="sent">Samples sent so far.</param>
    public static long Sample(long raw, long wraps, long sent)
    {
        if (wraps <= 0) { return raw; }
        long most = sent - 1 + wraps / 4;
        long low = (raw % wraps + wraps) % wraps;
        return most < low ? low : low + (most - low) / wraps * wraps;
    }
}
