namespace HilRunner.Core.Time;

/// <summary>A moment on the device's own clock, unwrapped, in nanoseconds since the device's zero in this clock epoch.</summary>
public readonly record struct DeviceTime(long Ns) : IComparable<DeviceTime>
{
    public int CompareTo(DeviceTime other) => Ns.CompareTo(other.Ns);
}
