using HilRunner.Core.Signals.Filters;

namespace HilRunner.Core.Shakers;

/// <summary>
/// Holds what a table measures against what is wanted of it while it moves, position by position: in every octave of its band and
/// all together. What is told may be something else: where the table's response is known it is told the inverse. Not safe for
/// several threads.
/// </summary>
/// <remarks>
/// Too much: the rms over <see cref="WindowS"/> is more than half as much again as the most that is wanted within a window before
/// and after, and <see cref="FloorG"/>. Too little: over <see cref="SeenS"/> less than half of what is wanted is in what is
/// measured, by least squares at the lag that fits best, which a sensor that is dead, stuck, saturated or measures something else
/// shows.
/// </remarks>
public sealed class MotionWatch
{
    /// <summary>Of what is wanted, either way: a table that is farther off is not the one that was described.</summary>
    public const double Share = 0.5;
    /// <summary>In g rms, in each band: a sensor's own noise, and a table's.</summary>
    public const double FloorG = 0.03;
    /// <summary>An rms is taken over no less: of a shorter stretch it says little.</summary>
    private const double ShortestS = 0.05;
    /// <summary>A table's filters and its link delay what is measured by no more than this.</summary>
    private const double MostLagS = 0.06;
    /// <summary>Too little is looked for so often.</summary>
    private const double LookS = 0.1;

    private readonly double _rateHz;
    private readonly double[] _wanted;
    private readonly Band[] _bands;
    private readonly double[] _recent;
    private readonly int _look, _lag;
    private readonly bool _follows;
    private int _taken;

    /// <param name="wantedG">[position] in g.</param>
    /// <param name="fromHz">Lowest frequency of the table's band.</param>
    /// <param name="toHz">Highest, at most half of the rate.</param>
    /// <param name="learningG">
    /// What the table makes of each frequency is not known yet: then so much, in g rms, is not too much of any octave at any
    /// time, and a motion that does not follow what is wanted is no fault as long as there is as much of it. Null: it is known.
    /// </param>
    public MotionWatch(IReadOnlyList<double> wantedG, double rateHz, double fromHz, double toHz, double? learningG = null)
    {
        ArgumentNullException.ThrowIfNull(wantedG);
        (_rateHz, _wanted, _follows) = (rateHz, [.. wantedG], learningG is null);
        _bands = [.. EdgesOf(fromHz, toHz, rateHz).Select(edge => new Band(edge, rateHz, _wanted, learningG ?? 0))];
        (_look, _lag) = ((int)(LookS * rateHz), (int)(MostLagS * rateHz));
        _recent = new double[(int)(SeenS(fromHz) * rateHz)];
    }

    /// <summary>How long an rms of a band is taken over, in s: what is too much is seen that late.</summary>
    public static double WindowS(double fromHz) => Math.Max(ShortestS, 1 / fromHz);

    /// <summary>How long too little lasts until it is seen, in s.</summary>
    public static double SeenS(double fromHz) => Math.Max(0.8, 2.5 / fromHz);

    /// <summary>The most of a motion, in g rms over the shortest window.</summary>
    public static double MostOf(IReadOnlyList<double> wantedG, double rateHz) =>
        Band.RmsOf(null, rateHz, [.. wantedG]).DefaultIfEmpty(0).Max();

    /// <summary>What was measured at the next positions.</summary>
    /// <param name="measuredG">In g. What is no number is passed over: whoever plays the motion judges that.</param>
    /// <returns>Why the table must be stopped; null: it does what is wanted.</returns>
    public string? Take(ReadOnlySpan<double> measuredG)
    {
        foreach (double g in measuredG)
        {
            if (_taken >= _wanted.Length) { return null; }
            double value = double.IsFinite(g) ? g : 0;
            foreach (var band in _bands)
            {
                if (band.Exceeds(_taken, value) is not { } limit) { continue; }
                string where = band.Edge is { } edge
                    ? FormattableString.Invariant($" between {edge.FromHz:0.##} Hz and {edge.ToHz:0.##} Hz") : "";
                return FormattableString.Invariant(
                    $"{_taken / _rateHz:0.00} s after it began it moves with {band.RmsG:0.###} g rms{where}, wanted at most {band.MostWanted(_taken):0.###} g (it is stopped above {limit:0.###} g)");
            }
            _recent[_taken % _recent.Length] = value;
            _taken++;
            if (_taken % _look == 0 && _taken >= _recent.Length && TooLittle() is { } why) { return why; }
        }
        return null;
    }

    private string? TooLittle()
    {
        int length = _recent.Length, from = _taken - length;
        var measured = new double[length];
        double mean = 0;
        for (int i = 0; i < length; i++) { mean += _recent[(from + i) % length] / length; }
        for (int i = 0; i < length; i++) { measured[i] = _recent[(from + i) % length] - mean; }
        double wanted = MotionLoss.Rms(_wanted.AsSpan(from, length));
        // Less than this may be all noise.
        if (wanted < 2 * FloorG) { return null; }
        double made = _follows ? Followed(measured, from) : MotionLoss.Rms(measured);
        return made >= Share * wanted ? null : FormattableString.Invariant(
            $"from {from / _rateHz:0.00} s to {_taken / _rateHz:0.00} s {made:0.###} g rms of the {wanted:0.###} g that are wanted are measured: does the sensor measure, and the table move?");
    }

    /// <summary>
    /// How much of what is wanted is in what was measured, in g rms, by least squares at the lag that fits best.
    /// </summary>
    private double Followed(double[] measured, int from)
    {
        double best = 0;
        for (int lag = 0; lag <= _lag; lag++)
        {
            double both = 0, own = 0;
            for (int i = 0; i < measured.Length; i++)
            {
                double w = from + i - lag >= 0 ? _wanted[from + i - lag] : 0;
                both += w * measured[i];
                own += w * w;
            }
            if (own > 0) { best = Math.Max(best, Math.Abs(both) / Math.Sqrt(own * measured.Length)); }
        }
        return best;
    }

    /// <summary>Octaves; null: all of it.</summary>
    private static List<(double FromHz, double ToHz)?> EdgesOf(double fromHz, double toHz, double rateHz)
    {
        List<(double, double)?> edges = [null];
        double end = Math.Min(toHz, 0.45 * rateHz);
        for (double hz = fromHz; hz < end * 0.99; hz *= 2) { edges.Add((hz, Math.Min(2 * hz, end))); }
        return edges;
    }

    private sealed class Band
    {
        private const int Order = 2;
        private readonly Filter _filter;
        private readonly RunningRms _rms;
        private readonly double[] _most;

        public Band((double FromHz, double ToHz)? edge, double rateHz, double[] wanted, double least)
        {
            Edge = edge;
            int window = WindowOf(edge, rateHz);
            (_filter, _rms) = (new(edge, rateHz), new(window));
            _most = Highest(RmsOf(edge, rateHz, wanted), window + (int)(MostLagS * rateHz));
            for (int k = 0; k < _most.Length; k++) { _most[k] = Math.Max(_most[k], least); }
        }

        public (double FromHz, double ToHz)? Edge { get; }

        public double RmsG => _rms.Value;

        public double MostWanted(int k) => _most[k];

        /// <summary>The limit that is exceeded; null: none is.</summary>
        public double? Exceeds(int k, double measured)
        {
            _rms.Add(_filter.Next(measured));
            double limit = (1 + Share) * _most[k] + FloorG;
            return _rms.Value > limit ? limit : null;
        }

        public static double[] RmsOf((double FromHz, double ToHz)? edge, double rateHz, double[] signal)
        {
            var filter = new Filter(edge, rateHz);
            var rms = new RunningRms(WindowOf(edge, rateHz));
            var values = new double[signal.Length];
            for (int k = 0; k < signal.Length; k++)
            {
                rms.Add(filter.Next(signal[k]));
                values[k] = rms.Value;
            }
            return values;
        }

        private static int WindowOf((double FromHz, double ToHz)? edge, double rateHz) =>
            Math.Max(2, (int)Math.Round((edge is { } band ? WindowS(band.FromHz) : ShortestS) * rateHz));

        /// <summary>[k] the highest of those at most so far away.</summary>
        private static double[] Highest(double[] values, int reach)
        {
            var highest = new double[values.Length];
            var places = new LinkedList<int>();
            for (int k = 0; k < values.Length + reach; k++)
            {
                if (k < values.Length)
                {
                    while (places.Last is { } last && values[last.Value] <= values[k]) { places.RemoveLast(); }
                    places.AddLast(k);
                }
                int at = k - reach;
                if (at < 0) { continue; }
                while (places.First is { } first && first.Value < at - reach) { places.RemoveFirst(); }
                highest[at] = places.First is { } found ? values[found.Value] : 0;
            }
            return highest;
        }

        /// <summary>Of a band, sample by sample; null passes everything.</summary>
        private sealed class Filter((double FromHz, double ToHz)? edge, double rateHz)
        {
            private readonly Section[] _sections = edge is { } band
                ? [.. Butterworth.BandPass(Order, band.FromHz, band.ToHz, rateHz)] : [];
            private readonly (double First, double Second)[] _state = new (double, double)[edge is null ? 0 : Order];

            public double Next(double x)
            {
                for (int i = 0; i < _sections.Length; i++) { x = _sections[i].Next(x, ref _state[i]); }
                return x;
            }
        }
    }

    private sealed class RunningRms(int window)
    {
        private readonly double[] _squares = new double[window];
        private double _sum;
        private int _next;

        public double Value => Math.Sqrt(Math.Max(0, _sum) / window);

        public void Add(double value)
        {
            _sum += value * value - _squares[_next];
            _squares[_next] = value * value;
            // What is added and taken away again leaves a rest of its rounding: it begins anew with each round.
            if (++_next == window) { (_next, _sum) = (0, _squares.Sum()); }
        }
    }
}
