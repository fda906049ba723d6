namespace HilRunner.Core.Time;

/// <summary>
/// A moment on the host's monotonic clock, in nanoseconds since an arbitrary origin. It never jumps and says nothing
/// about the time of day; it cannot be mixed with <see cref="StimulusTime"/> or <see cref="DeviceTime"/>.
/// </summary>
public readonly record struct HostTime(long Ns) : IComparable<HostTime>
{
    public static HostTime operator +(HostTime a, TimeSpan d) => new(a.Ns + d.Ticks * 100);
    public static HostTime operator -(HostTime a, TimeSpan d) => new(a.Ns - d.Ticks * 100);

    /// <summary>The time from <paramref name="b"/> to <paramref name="a"/>, in nanoseconds.</summary>
    public static long operator -(HostTime a, HostTime b) => a.Ns - b.Ns;
    public static bool operator <(HostTime a, HostTime b) => a.Ns < b.Ns;
    public static bool operator >(HostTime a, HostTime b) => a.Ns > b.Ns;
    public static bool operator <=(HostTime a, HostTime b) => a.Ns <= b.Ns;
    public static bool operator >=(HostTime a, HostTime b) => a.Ns >= b.Ns;
    public int CompareTo(HostTime other) => Ns.CompareTo(other.Ns);
}
