using HilRunner.Core.Time;

namespace HilRunner.Device;

/// <summary>
/// The device's own clock: µs since its start, 32 bits, wraps after 71.6 min. Offset and skew are known exactly, so that a
/// clock fit can be checked against the truth.
/// </summary>
/// <param name="skewPpm">Parts per million by which it runs fast.</param>
internal sealed class DeviceClock(HostClock host, TimeSpan offset, double skewPpm)
{
    private HostTime _start = host.Now;

    /// <summary>What it shows at a moment of the host's clock.</summary>
    public uint Microseconds(HostTime at)
    {
        long elapsedNs = at - _start;
        long deviceNs = offset.Ticks * 100 + elapsedNs + (long)Math.Round(elapsedNs * skewPpm * 1e-6);
        // Unchecked on purpose: the cast is the wrap of a 32-bit clock.
        return unchecked((uint)Math.DivRem(deviceNs, 1000).Quotient);
    }

    /// <summary>As after a start.</summary>
    public void Restart() => _start = host.Now;
}
