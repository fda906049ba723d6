namespace HilRunner.Core.Time;

/// <summary>
/// The host's monotonic clock with an anchor to the time of day, taken once. Stamps of one run differ by monotonic time
/// only: a step of the system's clock in mid-run does not reach them.
/// </summary>
public sealed class HostClock
{
    private readonly TimeProvider _time;
    private readonly long _anchorUnixNs;
    private readonly long _anchorNs;

    public HostClock(TimeProvider time)
    {
        _time = time;
        _anchorNs = Now.Ns;
        _anchorUnixNs = (time.GetUtcNow() - DateTimeOffset.UnixEpoch).Ticks * 100;
    }

    /// <summary>The clock that timers and waits run on.</summary>
    public TimeProvider Provider => _time;

    public HostTime Now
    {
        get
        {
            long stamp = _time.GetTimestamp();
            long frequency = _time.TimestampFrequency;
            return new(frequency == 1_000_000_000 ? stamp : (long)((Int128)stamp * 1_000_000_000 / frequency));
        }
    }

    /// <summary>Nanoseconds since 1970-01-01T00:00:00Z, for files that other tools read.</summary>
    public long ToUnixNs(HostTime t) => _anchorUnixNs + (t.Ns - _anchorNs);
}
