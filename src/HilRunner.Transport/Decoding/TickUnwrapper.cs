namespace HilRunner.Transport.Decoding;

/// <summary>
/// Turns a device clock that wraps into one that does not, for ticks given in the order in which they arrived. A tick that is behind the latest by
/// no more than an eighth of the clock's range is taken as late, not as a wrap, so messages that overtake each other are
/// right. Ticks more than seven eighths of the range apart cannot be told from smaller steps: a 16-bit microsecond clock needs a
/// message every 57 ms, a 32-bit one every hour.
/// </summary>
public sealed class TickUnwrapper
{
    private readonly int _bits;
    private readonly ulong _mask;
    private ulong? _latest;

    /// <param name="bits">Width of the clock: 8 to 64. At 64 nothing is assumed to wrap.</param>
    public TickUnwrapper(int bits)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(bits, 8);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(bits, 64);
        _bits = bits;
        _mask = ulong.MaxValue >> (64 - bits);
    }

    /// <summary>
    /// The first tick stands for itself; every later one for the number of ticks since the clock's zero before the first. Negative only for a
    /// message from before the first one's wrap that arrives after it.
    /// </summary>
    /// <exception cref="ArgumentOutOfRangeException">The tick does not fit the clock's width.</exception>
    public long Unwrap(ulong tick)
    {
        ArgumentOutOfRangeException.ThrowIfGreaterThan(tick, _mask);
        if (_bits == 64) { return checked((long)tick); }
        if (_latest is not { } latest)
        {
            _latest = tick;
            return (long)tick;
        }
        ulong ahead = (tick - latest) & _mask;
        ulong behind = (latest - tick) & _mask;
        if (behind <= _mask / 8) { return (long)(latest - behind); }
        _latest = latest + ahead;
        return (long)_latest;
    }

    /// <summary>Forgets what was seen: the clock starts anew (the device was reset).</summary>
    public void Reset() => _latest = null;
}
