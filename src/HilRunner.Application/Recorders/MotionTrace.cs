namespace HilRunner.Application.Recorders;

/// <summary>
/// The last seconds of motion, ready to be drawn: smallest and largest value of each channel for every 50 ms. Its cost does not depend on
/// the rate, and neither does that of drawing it.
/// </summary>
internal sealed class MotionTrace
{
    public const double SecondsPerPiece = 0.05;
    private const int Pieces = 512;

    private readonly double _samplesPerPiece;
    private readonly (double Low, double High)[][] _pieces;
    private readonly char[] _labels = new char[Pieces];
    private readonly double[] _latest;
    private long _samples;

    public MotionTrace(int channels, double rateHz)
    {
        _samplesPerPiece = rateHz * SecondsPerPiece;
        _pieces = [.. Enumerable.Range(0, channels).Select(_ => new (double, double)[Pieces])];
        _latest = new double[channels];
    }

    /// <summary>Pieces so far; the running one is the last.</summary>
    public long Count { get; private set; }

    public double Latest(int channel) => _latest[channel];

    /// <param name="label">Key of the class that holds now; a blank: none.</param>
    public void Add(ReadOnlySpan<double> values, char label)
    {
        long piece = (long)(_samples++ / _samplesPerPiece);
        bool fresh = piece >= Count;
        if (fresh) { Count = piece + 1; }
        int place = (int)(piece % Pieces);
        _labels[place] = label;
        for (int i = 0; i < values.Length; i++)
        {
            _latest[i] = values[i];
            var (low, high) = fresh ? (values[i], values[i]) : _pieces[i][place];
            _pieces[i][place] = (Math.Min(low, values[i]), Math.Max(high, values[i]));
        }
        // Slower than a piece: what lies between two samples is as the later one.
        for (long before = piece - 1; fresh && before > piece - Math.Min(Pieces, 1 / _samplesPerPiece); before--)
        {
            _labels[before % Pieces] = label;
            foreach (var channel in _pieces) { channel[before % Pieces] = channel[place]; }
        }
    }

    /// <summary>The piece that lies this many back, 0: the last; false where there is none.</summary>
    public bool TryGet(int channel, int back, out double low, out double high)
    {
        (low, high) = (0, 0);
        if (back >= Pieces || back >= Count) { return false; }
        (low, high) = _pieces[channel][(Count - 1 - back) % Pieces];
        return true;
    }

    /// <summary>From this long ago on the label was another, after all.</summary>
    public void Relabel(double seconds, char label)
    {
        for (long back = 0; back <= seconds / SecondsPerPiece && back < Pieces && back < Count; back++) { _labels[(Count - 1 - back) % Pieces] = label; }
    }

    public char LabelAt(int back) => back < Pieces && back < Count ? _labels[(Count - 1 - back) % Pieces] : ' ';
}
