using HilRunner.Core.Time;

namespace HilRunner.Engine.Clocks;

/// <summary>A question for the device's clock and its answer.</summary>
/// <param name="Sent">T1: just before the question was handed to the link.</param>
/// <param name="Device">T2 = T3: the device's stamp.</param>
/// <param name="Received">T4: the first byte of the answer had arrived.</param>
public readonly record struct ClockExchange(HostTime Sent, DeviceTime Device, HostTime Received)
{
    /// <summary>θ = ½[(T2−T1)+(T3−T4)], device minus host (RFC 5905 §8), in ns.</summary>
    public long OffsetNs => (long)(((Int128)(Device.Ns - Sent.Ns) + (Device.Ns - Received.Ns)) / 2);

    /// <summary>
    /// δ = (T4−T1)−(T3−T2), in ns, never below 0. The true offset lies in θ ± δ/2 however the delay is split. The times of
    /// the bytes on the wire are part of it.
    /// </summary>
    public long DelayNs => Math.Max(0, Received - Sent);
}
