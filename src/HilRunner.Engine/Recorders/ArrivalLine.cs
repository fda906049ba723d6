using HilRunner.Core.Time;

namespace HilRunner.Engine.Recorders;

/// <summary>The true rate of a stream of samples, on the host's clock.</summary>
/// <param name="UncertaintyHz">Two standard errors of the line; how well the host's own clock runs (tens of ppm) is not in it.</param>
public sealed record MeasuredRate(double Hertz, double UncertaintyHz)
{
    /// <summary>Farther from the rig's rate than this, beyond what is uncertain, the rate is said to be off.</summary>
    public const double OffShare = 0.005;

    public bool IsOff(SampleRate stated) => Math.Abs(Hertz - stated.Hertz) - UncertaintyHz > OffShare * stated.Hertz;
}

/// <summary>
/// When the samples of one part were measured, on the host's clock: a line through the earliest arrival of every second. Delays only
/// ever make an arrival late, so the earliest ones are the best (as in the clock filter of RFC 5905 §10); the line is laid through them by
/// least squares, then lowered until nothing arrived before it. Which arrival of a second is the earliest depends on the slope of the
/// line: a sensor that is 3 % slow falls 30 ms behind its stated rate within the second, and its first sample would always look the
/// earliest. So the slope that was found chooses the earliest arrivals again, until they stay the same.
/// </summary>
public sealed class ArrivalLine
{
    /// <summary>Seconds that a rate needs: less says nothing of a sensor's clock.</summary>
    private const int FewestPoints = 5;
    private const long PieceNs = 1_000_000_000;

    /// <summary>Two or three rounds settle it; more only where two arrivals are as early as each other.</summary>
    private const int MostRounds = 10;

    private readonly double _periodNs;

    /// <summary>
    /// Of each second the arrivals on its lower convex hull, first to last: whatever the slope, the earliest one is among them.
    /// </summary>
    private readonly List<List<(long Index, double Ns)>> _pieces = [];
    private HostTime _first;
    private long _count;
    private long _piece = -1;
    private (double SlopeNs, double OffsetNs, double ErrorNs)? _line;

    public ArrivalLine(SampleRate stated) => _periodNs = 1e12 / stated.MilliHertz;

    /// <summary>The next sample's first byte arrived.</summary>
    public void Add(HostTime at)
    {
        if (_count == 0) { _first = at; }
        long index = _count++;
        long piece = (long)(index * _periodNs / PieceNs);
        if (piece != _piece)
        {
            _piece = piece;
            _pieces.Add([]);
        }
        AddToHull(_pieces[^1], (index, at - _first));
        _line = null;
    }

    /// <summary>Null while there is too little.</summary>
    public MeasuredRate? Rate
    {
        get
        {
            if (_pieces.Count <= FewestPoints) { return null; }
            var (slope, _, error) = Line;
            double hertz = 1e9 / slope;
            return new(hertz, hertz * (2 * error / slope));
        }
    }

    /// <summary>Index of the sample that was measured at this moment, or next after it; below 0: before the first.</summary>
    public long IndexAt(HostTime at)
    {
        if (_count == 0) { return 0; }
        var (slope, offset, _) = Line;
        return (long)Math.Round((at - _first - offset) / slope);
    }

    /// <summary>When this sample was measured, give or take the time that messages need at least.</summary>
    public HostTime TimeOf(long index)
    {
        var (slope, offset, _) = Line;
        return new(_first.Ns + (long)Math.Round(offset + index * slope));
    }

    private (double SlopeNs, double OffsetNs, double ErrorNs) Line => _line ??= Lay();

    private static void AddToHull(List<(long Index, double Ns)> hull, (long Index, double Ns) arrival)
    {
        while (hull.Count >= 2 && !TurnsUp(hull[^2], hull[^1], arrival)) { hull.RemoveAt(hull.Count - 1); }
        hull.Add(arrival);
    }

    /// <summary>Whether the middle one lies below the line from the first to the last.</summary>
    private static bool TurnsUp((long Index, double Ns) first, (long Index, double Ns) middle, (long Index, double Ns) last) =>
        (middle.Ns - first.Ns) * (last.Index - first.Index) < (last.Ns - first.Ns) * (middle.Index - first.Index);

    private (double SlopeNs, double OffsetNs, double ErrorNs) Lay()
    {
        // The last second may hold few samples, and so no early one.
        var pieces = _pieces.Count > FewestPoints ? _pieces[..^1] : _pieces;
        double slope = _periodNs, error = 0;
        var points = Earliest(pieces, slope);
        for (int round = 0; points.Count >= FewestPoints && round < MostRounds; round++)
        {
            (slope, error) = Fit(points);
            var again = Earliest(pieces, slope);
            if (again.SequenceEqual(points)) { break; }
            points = again;
        }
        double offset = points.Min(p => p.Ns - slope * p.Index);
        return (slope, offset, error);
    }

    private static List<(long Index, double Ns)> Earliest(List<List<(long Index, double Ns)>> pieces, double slope) =>
        [.. pieces.Select(hull => hull.MinBy(p => p.Ns - slope * p.Index))];

    private static (double SlopeNs, double ErrorNs) Fit(List<(long Index, double Ns)> points)
    {
        double meanX = points.Average(p => (double)p.Index), meanY = points.Average(p => p.Ns);
        double xx = points.Sum(p => (p.Index - meanX) * (p.Index - meanX));
        double slope = points.Sum(p => (p.Index - meanX) * (p.Ns - meanY)) / xx;
        double rest = points.Sum(p => Math.Pow(p.Ns - meanY - slope * (p.Index - meanX), 2));
        return (slope, Math.Sqrt(rest / (points.Count - 2) / xx));
    }
}
