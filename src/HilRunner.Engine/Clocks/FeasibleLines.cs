using HilRunner.Core.Time;

namespace HilRunner.Engine.Clocks;

/// <summary>
/// All straight lines from device time to host time that pass through every exchange: each says that the device's stamp was
/// taken between the question's sending and the answer's arrival (the bound of RFC 5905 §8, for every exchange at once; as
/// linear constraints in Moon, Skelly and Towsley, INFOCOM 1999). They form a convex polygon in the plane of rate and offset;
/// whatever is asked of them is answered by its corners. No assumption is made about how a delay is split.
/// </summary>
internal sealed class FeasibleLines
{
    private readonly ClockExchange _origin;
    private readonly double _scaleNs;
    /// <summary>Host = device + Tilt · device/scale + Offset, all in ns since the origin exchange.</summary>
    private readonly List<(double Tilt, double Offset)> _corners;

    private FeasibleLines(ClockExchange origin, double scaleNs, List<(double, double)> corners) =>
        (_origin, _scaleNs, _corners) = (origin, scaleNs, corners);

    /// <summary>Host time from which <see cref="HostAt"/> counts.</summary>
    public HostTime Origin => _origin.Received;

    /// <summary>Null when no line passes through all of them.</summary>
    /// <param name="exchanges">At least one.</param>
    /// <param name="tickNs">A stamp is the device's clock rounded down to a tick of this length.</param>
    /// <param name="slackNs">By how much each exchange's interval is widened on either side.</param>
    /// <param name="largestRateError">Lines whose rate is further off are left out, as a share.</param>
    public static FeasibleLines? Through(
        IReadOnlyList<ClockExchange> exchanges, double tickNs, double largestRateError, Func<ClockExchange, double> slackNs)
    {
        ClockExchange origin = exchanges.MinBy(e => e.DelayNs);
        double scale = Math.Max(1, exchanges.Max(e => Math.Abs((double)(e.Device.Ns - origin.Device.Ns))));
        double tilt = largestRateError * scale;
        double least = origin.Sent - origin.Received - tickNs - slackNs(origin), most = -least;
        List<(double, double)> corners = [(-tilt, least), (tilt, least), (tilt, most), (-tilt, most)];
        foreach (var exchange in exchanges)
        {
            double device = exchange.Device.Ns - origin.Device.Ns;
            double slack = slackNs(exchange);
            double low = exchange.Sent - origin.Received - device - tickNs - slack;
            double high = exchange.Received - origin.Received - device + slack;
            corners = Cut(corners, device / scale, 1, high);
            corners = Cut(corners, -device / scale, -1, -low);
            if (corners.Count == 0) { return null; }
        }
        return new(origin, scale, corners);
    }

    /// <summary>
    /// The earliest and the latest host time at which the device's clock can have shown <paramref name="device"/>: as ns after
    /// <see cref="Origin"/>, since nanoseconds of the day's time do not fit a double.
    /// </summary>
    public (double From, double To) HostAt(DeviceTime device)
    {
        double since = device.Ns - _origin.Device.Ns;
        double part = since / _scaleNs;
        double from = double.PositiveInfinity, to = double.NegativeInfinity;
        foreach (var (tilt, offset) in _corners)
        {
            double host = tilt * part + offset;
            from = Math.Min(from, host);
            to = Math.Max(to, host);
        }
        return (since + from, since + to);
    }

    /// <summary>By how much the device's clock runs fast, at least and at most, in ppm.</summary>
    public (double From, double To) SkewPpm
    {
        get
        {
            double from = double.PositiveInfinity, to = double.NegativeInfinity;
            foreach (var (tilt, _) in _corners)
            {
                double ppm = (1 / (1 + tilt / _scaleNs) - 1) * 1e6;
                from = Math.Min(from, ppm);
                to = Math.Max(to, ppm);
            }
            return (from, to);
        }
    }

    /// <summary>The part of a convex polygon in which a·tilt + b·offset ≤ limit (Sutherland and Hodgman 1974, for one edge).</summary>
    private static List<(double, double)> Cut(List<(double Tilt, double Offset)> corners, double a, double b, double limit)
    {
        var kept = new List<(double, double)>(corners.Count + 1);
        for (int i = 0; i < corners.Count; i++)
        {
            var (here, next) = (corners[i], corners[(i + 1) % corners.Count]);
            double outside = a * here.Tilt + b * here.Offset - limit;
            double outsideNext = a * next.Tilt + b * next.Offset - limit;
            if (outside <= 0) { kept.Add(here); }
            if ((outside < 0 && outsideNext > 0) || (outside > 0 && outsideNext < 0))
            {
                double share = outside / (outside - outsideNext);
                kept.Add((here.Tilt + share * (next.Tilt - here.Tilt), here.Offset + share * (next.Offset - here.Offset)));
            }
        }
        return kept;
    }
}
