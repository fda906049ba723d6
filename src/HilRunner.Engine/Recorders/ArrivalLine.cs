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
/// least squares, then lowered until nothing arrived before it.
/// </summary>
public sealed class ArrivalLine
{
    /// <summary>Seconds that a rate needs: less says nothing of a sensor's clock.</summary>
    private const int FewestPoints = 5;
    private const long PieceNs = 1_000_000_000;

    private readonly double _periodNs;
    private readonly List<(long Index, HostTime At)> _points = [];
    private HostTime _first;
    private long _count;
    private long _piece = -1;
    private double _earliestNs;
    private (double SlopeNs, double OffsetNs, double ErrorNs)? _line;

    public ArrivalLine(SampleRate stated) => _periodNs = 1e12 / stated.MilliHertz;

    /// <summary>The next sample's first byte arrived.</summary>
    public void Add(HostTime at)
    {
        if (_count == 0) { _first = at; }
        long index = _count++;
        long piece = (long)(index * _periodNs / PieceNs);
        double lateNs = at - _first - index * _periodNs;
        if (piece != _piece)
        {
            _piece = piece;
            _earliestNs = double.PositiveInfinity;
            _points.Add((index, at));
        }
        if (lateNs < _earliestNs)
        {
            _earliestNs = lateNs;
            _points[^1] = (index, at);
        }
        _line = null;
    }

    /// <summary>Null while there is too little.</summary>
    public MeasuredRate? Rate
    {
        get
        {
            if (_points.Count <= FewestPoints) { return null; }
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

    private (double, double, double) Lay()
    {
        // The last second may hold few samples, and so no early one.
        var points = _points.Count > FewestPoints ? _points[..^1] : _points;
        double slope = _periodNs, error = 0;
        if (points.Count >= FewestPoints)
        {
            double meanX = points.Average(p => (double)p.Index), meanY = points.Average(p => (double)(p.At - _first));
            double xx = points.Sum(p => (p.Index - meanX) * (p.Index - meanX));
            slope = points.Sum(p => (p.Index - meanX) * (p.At - _first - meanY)) / xx;
            double rest = points.Sum(p => Math.Pow(p.At - _first - meanY - slope * (p.Index - meanX), 2));
            error = Math.Sqrt(rest / (points.Count - 2) / xx);
        }
        double offset = points.Min(p => p.At - _first - slope * p.Index);
        return (slope, offset, error);
    }
}
