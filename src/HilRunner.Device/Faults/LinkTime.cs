using HilRunner.Core.Numerics;
using HilRunner.Core.Time;

namespace HilRunner.Device.Faults;

/// <summary>
/// How long one direction of the link takes: a fixed time, and up to the jitter more for each message, uniform and seeded. The
/// order is kept: what would overtake arrives together with what it follows. One thread at a time.
/// </summary>
internal sealed class LinkTime(TimeSpan fixedTime, TimeSpan jitter, ulong seed)
{
    private Xoshiro256 _random = new(seed);
    private HostTime _last = new(long.MinValue);

    /// <summary>False: what is sent is there.</summary>
    public bool Active { get; } = fixedTime > TimeSpan.Zero || jitter > TimeSpan.Zero;

    /// <summary>When a message that is sent now arrives. To be asked in the order of sending.</summary>
    public HostTime Arrival(HostTime sent)
    {
        long more = jitter > TimeSpan.Zero ? (long)(_random.NextShare() * jitter.Ticks * 100) : 0;
        HostTime arrival = new((sent + fixedTime).Ns + more);
        if (arrival < _last) { arrival = _last; }
        _last = arrival;
        return arrival;
    }
}
