using System.Runtime.InteropServices;

namespace HilRunner.Core.Recordings.Import;

/// <summary>
/// Whether the stamps of a recording are those of one rate, found in one pass and fixed memory, by the rule of the native form
/// (<see cref="SampleTimes"/>): every step within half of the median one, every sample within half a step and 200 ppm of its place.
/// That sample i after e lies so is e(1−d)/(i+½) ≤ step ≤ e(1+d)/(i−½): the steps for which all do are an interval.
/// </summary>
/// <param name="resolutionNs">Stamps are only known to this; it widens the second part of the rule.</param>
internal sealed class EvenTimes(long resolutionNs)
{
    private const int BinsPerOctave = 128;

    /// <summary>Steps by bin: those of one recording fall into few, and a file may hold many thousand recordings.</summary>
    private readonly Dictionary<int, long> _steps = [];
    private readonly Bounds _exact = new(0), _coarse = new(resolutionNs);
    private long _firstNs, _lastNs;
    private long _shortest = long.MaxValue, _longest;

    public long Count { get; private set; }
    public long SpanNs => _lastNs - _firstNs;
    public double MeanStepNs => Count > 1 ? (double)SpanNs / (Count - 1) : 0;
    /// <summary>Every step is the same.</summary>
    public bool IsConstant => _shortest >= _longest;

    public void Add(long ns, int line)
    {
        if (Count++ == 0)
        {
            _firstNs = _lastNs = ns;
            return;
        }
        long step = ns - _lastNs;
        _lastNs = ns;
        (_shortest, _longest) = (Math.Min(_shortest, step), Math.Max(_longest, step));
        CollectionsMarshal.GetValueRefOrAddDefault(_steps, BinOf(Math.Max(step, 0)), out _)++;
        _exact.Add(Count - 1, SpanNs, line);
        _coarse.Add(Count - 1, SpanNs, line);
    }

    /// <summary>The stamps may stand in a native recording of this step.</summary>
    public bool KeepsRule(double stepNs)
    {
        if (!_exact.Hold(stepNs)) { return false; }
        if (Count < 2) { return true; }
        var (least, most) = MedianBounds();
        return _shortest > 0 && _shortest >= (1 - SampleTimes.Jitter) * most && _longest <= (1 + SampleTimes.Jitter) * least;
    }

    /// <summary>The samples are even at this step as far as the stamps can tell.</summary>
    public bool IsEven(double stepNs) => _coarse.Hold(stepNs);

    /// <summary>Line of the sample that lies farthest from its place.</summary>
    public int WorstLine(double stepNs) => _coarse.WorstLine(stepNs);

    /// <summary>The median step lies in one bin, or between two.</summary>
    private (double Least, double Most) MedianBounds()
    {
        long steps = Count - 1, seen = 0;
        int low = -1;
        foreach (int i in _steps.Keys.Order())
        {
            seen += _steps[i];
            if (low < 0 && seen >= (steps + 1) / 2) { low = i; }
            if (seen >= steps / 2 + 1) { return (Floor(low), Floor(i + 1)); }
        }
        return (Floor(low), Floor(low + 1));
    }

    private static int BinOf(long step)
    {
        if (step < BinsPerOctave) { return (int)step; }
        int octave = 63 - System.Numerics.BitOperations.LeadingZeroCount((ulong)step);
        return (octave - 6) * BinsPerOctave + (int)((step >> (octave - 7)) - BinsPerOctave);
    }

    private static double Floor(int bin) =>
        bin < BinsPerOctave ? bin : Math.ScaleB(BinsPerOctave + bin % BinsPerOctave, bin / BinsPerOctave - 1);

    private sealed class Bounds(long resolutionNs)
    {
        private double _least, _most = double.PositiveInfinity;
        private int _leastLine, _mostLine;

        public void Add(long index, double elapsed, int line)
        {
            double least = (elapsed * (1 - SampleTimes.Drift) - resolutionNs) / (index + SampleTimes.Jitter);
            double most = (elapsed * (1 + SampleTimes.Drift) + resolutionNs) / (index - SampleTimes.Jitter);
            if (least > _least) { (_least, _leastLine) = (least, line); }
            if (most < _most) { (_most, _mostLine) = (most, line); }
        }

        public bool Hold(double stepNs) => stepNs >= _least && stepNs <= _most;

        public int WorstLine(double stepNs) => stepNs < _least ? _leastLine : _mostLine;
    }
}
