using HilRunner.Core.Time;

namespace HilRunner.Engine.Clocks;

/// <summary>
/// Device time to host time for one epoch of the device's clock (from a start to the next reset), with a bound on the error:
/// the true host time lies in it as long as the clock runs evenly. Short exchanges narrow the bound, long ones do no harm, so
/// that the one of least delay (RFC 5905 §10) is found by itself.
/// </summary>
public sealed class ClockMap
{
    /// <summary>A rate known worse than this tells a good crystal from a bad one no more, and is not given.</summary>
    public const double KnownPpm = 20;

    /// <summary>
    /// How much a crystal's rate may wander within a few minutes: allowed for by the distance in time. Common practice of the
    /// trade (a fraction of a degree in still air), not measured.
    /// </summary>
    public const double WanderPpm = 0.1;

    /// <summary>No clock that still counts as one is further off: ±10 %. Where a clock is further off than its rig says, so much is allowed for.</summary>
    private const double LargestRateError = 0.1;

    /// <summary>A line is laid through the exchanges of this long, so that a slow wander of the rate does no harm.</summary>
    private const double PieceNs = 120e9;
    private const double ReachNs = 180e9;
    private const int NearestWhereNone = 16;
    private const double LeastSlackNs = 500;

    private readonly IReadOnlyList<ClockExchange> _exchanges;
    private readonly double _tickNs;
    private readonly double _tolerance;
    private readonly Dictionary<long, Piece> _pieces = [];
    private readonly Piece _whole;

    private ClockMap(IReadOnlyList<ClockExchange> exchanges, double tickNs, double tolerancePpm)
    {
        _exchanges = exchanges;
        _tickNs = tickNs;
        _tolerance = tolerancePpm * 1e-6;
        _whole = Lay(exchanges, (exchanges[0].Device.Ns + (double)exchanges[^1].Device.Ns) / 2);
    }

    /// <summary>Lines through some of the exchanges, and by how much the clock had to be allowed to run unevenly for them.</summary>
    private sealed record Piece(FeasibleLines Lines, double UnevenNs);

    public int Count => _exchanges.Count;

    /// <summary>The smallest round trip.</summary>
    public long LeastDelayNs => _exchanges.Min(e => e.DelayNs);

    /// <summary>
    /// Largest departure from a straight line, within minutes, that had to be allowed for in what was asked so far, ns; 0: the clock
    /// ran evenly.
    /// </summary>
    public long UnevenNs => (long)Math.Ceiling(IsShort ? _whole.UnevenNs : _pieces.Values.Select(p => p.UnevenNs).DefaultIfEmpty().Max());

    /// <summary>
    /// Rate of the device's clock against the host's, and the half-width of the interval that holds the truth. Null where it
    /// is neither known to ±<see cref="KnownPpm"/> nor plainly off (three times its half-width away from 0). Of a clock that ran
    /// unevenly it is the mean rate, from the first exchange to the last.
    /// </summary>
    public (double Ppm, double UncertaintyPpm)? Skew
    {
        get
        {
            var (from, to) = _whole.Lines.SkewPpm;
            double half = (to - from) / 2;
            if (_whole.UnevenNs > 0)
            {
                // The lines were only found with that slack, which leaves few of them. At the first exchange and at the last the
                // clock stood within the exchange, and each line within it and the slack.
                double ends = 2 * _whole.UnevenNs + _exchanges[0].DelayNs + _exchanges[^1].DelayNs;
                half += ends / Math.Max(1, _exchanges[^1].Device.Ns - (double)_exchanges[0].Device.Ns) * 1e6;
            }
            double middle = (to + from) / 2;
            return half <= KnownPpm || Math.Abs(middle) > 3 * half ? (middle, half) : null;
        }
    }

    /// <summary>Null when there is no exchange at all.</summary>
    /// <param name="exchanges">Of one epoch, in the order in which they were answered.</param>
    /// <param name="tickNs">Resolution of the device's stamps: a stamp is its clock rounded down to a tick.</param>
    /// <param name="tolerancePpm">How far off its rate is at most, as the rig says. Answers that contradict it win.</param>
    public static ClockMap? Fit(IReadOnlyList<ClockExchange> exchanges, double tickNs, double tolerancePpm) =>
        exchanges.Count == 0 ? null : new([.. exchanges.OrderBy(e => e.Device.Ns)], tickNs, tolerancePpm);

    /// <summary>Host time at which the device's clock showed a stamp, and the half-width of the interval that holds the truth, in ns.</summary>
    public (HostTime Host, long UncertaintyNs) ToHost(DeviceTime device)
    {
        Piece piece = PieceAt(device.Ns);
        var (from, to) = piece.Lines.HostAt(device);
        // The clock stood anywhere in the tick that the stamp was rounded down to.
        (from, to) = (from - piece.UnevenNs, to + _tickNs + piece.UnevenNs);
        return (new(piece.Lines.Origin.Ns + (long)Math.Round((from + to) / 2)), (long)Math.Ceiling((to - from) / 2) + 1);
    }

    private bool IsShort => _exchanges[^1].Device.Ns - (double)_exchanges[0].Device.Ns <= 2 * ReachNs;

    private Piece PieceAt(double deviceNs)
    {
        if (IsShort) { return _whole; }
        long index = (long)Math.Floor(deviceNs / PieceNs);
        if (_pieces.TryGetValue(index, out Piece? known)) { return known; }
        double centre = (index + 0.5) * PieceNs;
        List<ClockExchange> near = [.. _exchanges.Where(e => Math.Abs(e.Device.Ns - centre) <= ReachNs)];
        if (near.Count < NearestWhereNone)
        {
            near = [.. _exchanges.OrderBy(e => Math.Abs(e.Device.Ns - centre)).Take(NearestWhereNone).OrderBy(e => e.Device.Ns)];
        }
        return _pieces[index] = Lay(near, centre);
    }

    private Piece Lay(IReadOnlyList<ClockExchange> exchanges, double centreNs)
    {
        FeasibleLines? Through(double unevenNs, double rateError = LargestRateError) => FeasibleLines.Through(
            exchanges, _tickNs, rateError, e => 1 + unevenNs + Math.Abs(e.Device.Ns - centreNs) * WanderPpm * 1e-6);
        if ((Through(0, _tolerance) ?? Through(0)) is { } even) { return new(even, 0); }
        // The clock did not run evenly: the least slack with which there is a line, to one per cent. Any stamps have one.
        double enough = LeastSlackNs;
        while (Through(enough) is null) { enough *= 2; }
        double tooLittle = enough / 2;
        while (enough - tooLittle > enough / 100)
        {
            double middle = (enough + tooLittle) / 2;
            if (Through(middle) is null) { tooLittle = middle; } else { enough = middle; }
        }
        return new(Through(enough)!, enough);
    }
}
