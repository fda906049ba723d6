using HilRunner.Core.Time;

namespace HilRunner.Engine.Clocks;

/// <summary>A question for the device's clock and its answer.</summary>
/// <param name="Sent">T1: the question was handed to the link.</param>
/// <param name="Device">T2 = T3: the device's stamp.</param>
/// <param name="Received">T4: the first byte of the answer arrived.</param>
public readonly record struct ClockExchange(HostTime Sent, DeviceTime Device, HostTime Received)
{
    /// <summary>θ = ½[(T2−T1)+(T3−T4)], device minus host (RFC 5905 §8), in ns.</summary>
    public long OffsetNs => (long)(((Int128)(Device.Ns - Sent.Ns) + (Device.Ns - Received.Ns)) / 2);

    /// <summary>δ = (T4−T1)−(T3−T2), in ns, never below 0. The true offset lies in θ ± δ/2 however the delay is split.</summary>
    public long DelayNs => Math.Max(0, Received - Sent);
}

/// <summary>
/// Device time to host time, with a bound on the error. The exchange of least delay before and after the run (RFC 5905 §10)
/// pin a straight line; where there is only one side, a rate error of <see cref="AssumedPpm"/> is allowed for.
/// </summary>
public sealed class ClockMap
{
    /// <summary>A crystal oscillator's usual worst case; common practice of the trade, not measured.</summary>
    public const double AssumedPpm = 100;

    /// <summary>A rate known worse than this tells a good crystal from a bad one no more, and is not given.</summary>
    public const double KnownPpm = 20;

    private readonly ClockExchange _first;
    private readonly ClockExchange _last;

    private ClockMap(ClockExchange first, ClockExchange last) => (_first, _last) = (first, last);

    /// <summary>Smallest half delay: the estimate of the link's one-way time.</summary>
    public long LinkNs => Math.Min(_first.DelayNs, _last.DelayNs) / 2;

    /// <summary>
    /// Rate of the device's clock against the host's. Null where it is not known to ±<see cref="KnownPpm"/>: from one side only,
    /// or where the delays are too long for the time between the two sides.
    /// </summary>
    public double? SkewPpm
    {
        get
        {
            double spanNs = Middle(_last) - Middle(_first);
            double boundPpm = (_first.DelayNs + _last.DelayNs) / 2.0 / spanNs * 1e6;
            return _first == _last || !(boundPpm <= KnownPpm) ? null : (_last.OffsetNs - _first.OffsetNs) / spanNs * 1e6;
        }
    }

    /// <summary>Null when there is no exchange at all.</summary>
    public static ClockMap? Fit(IReadOnlyList<ClockExchange> before, IReadOnlyList<ClockExchange> after)
    {
        var first = before.Count > 0 ? before.MinBy(e => e.DelayNs) : (ClockExchange?)null;
        var last = after.Count > 0 ? after.MinBy(e => e.DelayNs) : (ClockExchange?)null;
        if ((first ?? last) is not { } any) { return null; }
        return new(first ?? any, last ?? any);
    }

    /// <summary>Host time of a device time, and the half-width of the interval that holds the truth, in ns.</summary>
    public (HostTime Host, long UncertaintyNs) ToHost(DeviceTime device)
    {
        if (_first == _last)
        {
            long host = device.Ns - _first.OffsetNs;
            long away = Math.Abs(host - (long)Middle(_first));
            return (new(host), _first.DelayNs / 2 + (long)(away * AssumedPpm * 1e-6) + 1);
        }
        double share = (double)(device.Ns - _first.Device.Ns) / (_last.Device.Ns - _first.Device.Ns);
        double offset = _first.OffsetNs + share * (_last.OffsetNs - _first.OffsetNs);
        double width = Math.Abs(1 - share) * _first.DelayNs / 2.0 + Math.Abs(share) * _last.DelayNs / 2.0;
        return (new(device.Ns - (long)Math.Round(offset)), (long)Math.Ceiling(width) + 1);
    }

    private static double Middle(ClockExchange e) => e.Sent.Ns / 2.0 + e.Received.Ns / 2.0;
}
