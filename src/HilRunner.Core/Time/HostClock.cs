namespace HilRunner.Core.Time;

/// <summary>
/// The host's monotonic clock with an anchor to the time of day, taken once. Stamps of one run differ by monotonic time
/// only: a step of the system's clock in mid-run does not reach them.
/// </summary>
public sealed class HostClock
{
    private const int AnchorReadings = 8;
    private readonly TimeProvider _time;

    public HostClock(TimeProvider time)
    {
        _time = time;
        // A process that is held up between the two readings would be off by as long: of several, the pair that was read fastest.
        long fastest = long.MaxValue;
        for (int i = 0; i < AnchorReadings; i++)
        {
            long before = Now.Ns, unix = (time.GetUtcNow() - DateTimeOffset.UnixEpoch).Ticks * 100, after = Now.Ns;
            if (after - before >= fastest) { continue; }
            fastest = after - before;
            UnixAtZeroNs = unix - (before + (after - before) / 2);
        }
    }

    /// <summary>The anchor: the time of day, in nanoseconds since 1970, at which the monotonic clock read 0.</summary>
    public long UnixAtZeroNs { get; private set; }

    /// <summary>
    /// Takes over the anchor of another process of this machine. All of them read one monotonic clock, so that both then name a moment alike, even where the
    /// system's clock was set between their starts. Before the first stamp.
    /// </summary>
    public void Adopt(long unixAtZeroNs) => UnixAtZeroNs = unixAtZeroNs;

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
    public long ToUnixNs(HostTime t) => UnixAtZeroNs + t.Ns;
}
