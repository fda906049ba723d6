using HilRunner.Core.Time;

namespace HilRunner.Engine.Clocks;

/// <summary>
/// Makes a wrapping device clock run on: the number of whole wraps since the last stamp is the one that fits the host time
/// gone by. Stamps may come a little out of order. Right as long as host and device disagree by less than half a wrap between
/// two stamps (a 16-bit µs clock wraps every 65.5 ms: its stamps must arrive less than 32 ms late).
/// </summary>
public sealed class TickUnwrapper
{
    private readonly int _bits;
    private readonly double _tickNs;
    private long _lastTicks;
    private HostTime _lastAt;
    private bool _started;

    /// <param name="bits">8 to 64.</param>
    /// <param name="tickNs">Length of a tick in ns.</param>
    public TickUnwrapper(int bits, double tickNs)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(bits, 8);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(bits, 64);
        _bits = bits;
        _tickNs = tickNs;
    }

    /// <summary>Ticks since the device's zero, wraps before the first stamp not counted.</summary>
    public DeviceTime Unwrap(ulong ticks, HostTime at)
    {
        long unwrapped = Unwrapped(ticks, at);
        if (!_started || at > _lastAt) { (_lastTicks, _lastAt) = (unwrapped, at); }
        _started = true;
        return TimeOf(unwrapped);
    }

    /// <summary>
    /// The same without taking the stamp for a true one: what comes after it is unwrapped as if it had not been there.
    /// </summary>
    public DeviceTime Peek(ulong ticks, HostTime at) => TimeOf(Unwrapped(ticks, at));

    private long Unwrapped(ulong ticks, HostTime at)
    {
        if (!_started || _bits >= 64) { return (long)ticks; }
        // Not 1L << 63: a clock of 63 bits never wraps within a run either.
        if (_bits == 63) { return (long)ticks; }
        long wrap = 1L << _bits;
        double expected = _lastTicks + (at - _lastAt) / _tickNs;
        return (long)ticks + (long)Math.Round((expected - ticks) / wrap) * wrap;
    }

    private DeviceTime TimeOf(long ticks) =>
        new((long)Math.Clamp(Math.Round(ticks * (decimal)_tickNs), long.MinValue, long.MaxValue));
}
