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

    /// <param name="bits">16, 32 or 64.</param>
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
        long unwrapped = (long)ticks;
        if (_started && _bits < 64)
        {
            long wrap = 1L << _bits;
            double expected = _lastTicks + (at - _lastAt) / _tickNs;
            unwrapped = (long)ticks + (long)Math.Round((expected - ticks) / wrap) * wrap;
        }
        if (!_started || at > _lastAt) { (_lastTicks, _lastAt) = (unwrapped, at); }
        _started = true;
        return new DeviceTime((long)Math.Round(unwrapped * (decimal)_tickNs));
    }
}
