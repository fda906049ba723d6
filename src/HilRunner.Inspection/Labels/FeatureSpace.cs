using HilRunner.Core.Files;
using HilRunner.Core.Models;
using HilRunner.Core.Numerics;
using HilRunner.Core.Time;

namespace HilRunner.Inspection.Labels;

/// <summary>
/// Windows as a model sees them: device counts at the model's rate, and the statistics that its tree asks for. Without a model: windows of two
/// seconds at the recording's own rate in counts of 1 mg, and a set of statistics that tells postures and motions apart.
/// </summary>
internal sealed class FeatureSpace
{
    /// <summary>Most windows of one segment, evenly spread over it; fewer where there are thousands of segments.</summary>
    private const int MostWindows = 100, LeastWindows = 4, MostInAll = 500_000;

    /// <summary>A tenth of the pace of a tone at a sixth of the rate; one crossing more at either end of a window.</summary>
    private const double LeastPace = 100, LeastCrossings = 2;

    private static readonly Feature[] s_default =
    [
        new(FeatureStatistic.Mean, 0), new(FeatureStatistic.Mean, 1), new(FeatureStatistic.Mean, 2),
        new(FeatureStatistic.Deviation, 3), new(FeatureStatistic.Roughness, 3), new(FeatureStatistic.Crossings, 3),
    ];

    private readonly IReadOnlyList<ModelChannel> _channels;
    private readonly Series<double>[] _motion;
    private readonly PolyphaseResampler? _resampler;
    private readonly double _rateHz;
    private readonly int _window;
    private readonly int _hop;

    private FeatureSpace(IReadOnlyList<ModelChannel> channels, Series<double>[] motion,
        IReadOnlyList<Feature> features, double rateHz, int window, PolyphaseResampler? resampler)
    {
        (_channels, _motion, Features, _rateHz, _window, _resampler) = (channels, motion, features, rateHz, window, resampler);
        _hop = Math.Max(1, window / 2);
    }

    public IReadOnlyList<Feature> Features { get; }

    /// <summary>Null, with the reason, where the recording has not what the features need.</summary>
    public static FeatureSpace? Of(InspectionContext context, out string why)
    {
        why = "";
        var model = context.Options.Model;
        if (model is null)
        {
            if (context.Acceleration is null)
            {
                why = "needs ax, ay and az";
                return null;
            }
            int window = Math.Max(8, (int)Math.Round(Thresholds.ShortestSegment.Value * context.RateHz));
            if (window <= MotionModel.MaxWindow)
            {
                ModelChannel[] channels = [new("ax", 0.001), new("ay", 0.001), new("az", 0.001)];
                return new(channels, context.Acceleration, s_default, context.RateHz, window, null);
            }
            why = "needs a model at this rate: windows of two seconds are too long for the statistics";
            return null;
        }
        var names = context.Recording.ChannelNames.ToList();
        string[] missing = [.. model.Channels.Select(c => c.Name).Where(c => !names.Contains(c))];
        if (missing.Length > 0)
        {
            why = $"{model.Name} needs {string.Join(", ", missing)}";
            return null;
        }
        Series<double>[] motion = [.. model.Channels.Select(c => context.Recording.Channels[names.IndexOf(c.Name)])];
        Feature[] features = [.. model.Tree.Where(n => !n.IsLeaf).Select(n => n.Feature).Distinct()];
        SampleRate rate = context.Axis.Rate;
        var resampler = rate == model.Rate ? null : PolyphaseResampler.Of(PolyphaseResampler.Ratio(rate, model.Rate));
        why = features.Length == 0 ? $"{model.Name} asks for no feature" : rate != model.Rate && resampler is null ? $"{rate} cannot be brought to the {model.Rate} of {model.Name}" : "";
        return why.Length > 0 ? null : new(model.Channels, motion, features, model.Rate.Hertz, model.Window, resampler);
    }

    /// <summary>In the unit of each feature: below this, a difference says nothing about a class.</summary>
    public double[] LeastSpreads() => [.. Features.Select(f =>
    {
        bool turning = f.Series >= 0 && (f.Series < _channels.Count ? _channels[f.Series].Name[0] == 'g' : f.Series > _channels.Count);
        double units = _channels.First(c => c.Name[0] == (turning ? 'g' : 'a')).UnitsPerCount;
        return Math.Max(1, f.Statistic switch
        {
            FeatureStatistic.Mean or FeatureStatistic.Minimum or FeatureStatistic.Maximum => (turning ? Thresholds.GyroCare.Value : Thresholds.LabelLevel.Value) / units,
            FeatureStatistic.Pace => LeastPace,
            FeatureStatistic.Crossings => LeastCrossings,
            _ => (turning ? Thresholds.GyroCare.Value / 2 : Thresholds.LabelMotion.Value) / units,
        });
    })];

    /// <summary>A row of feature values for every window that lies wholly in an unbroken part of the segment.</summary>
    public List<double[]> Windows(InspectionContext context, Segment segment)
    {
        var rows = new List<double[]>();
        int most = Math.Clamp(MostInAll / context.Segments.All.Count, LeastWindows, MostWindows);
        foreach (var (from, to) in context.UnbrokenWithin(segment.From, segment.To))
        {
            if ((to - from) / context.RateHz * _rateHz < _window) { continue; }
            long length = _resampler?.OutputLength(to - from) ?? to - from;
            long stride = _hop * Math.Max(1, ((length - _window) / _hop + 1) / most);
            for (long start = 0; start + _window <= length && rows.Count < most; start += stride)
            {
                rows.Add(Row(Series(from, to, start)));
            }
        }
        return rows;
    }

    private double[] Row(int[][] series)
    {
        var statistics = new WindowStatistics?[series.Length];
        var row = new double[Features.Count];
        for (int f = 0; f < row.Length; f++)
        {
            int at = Features[f].Series == Feature.MainAxis ? MainAxis(series, statistics) : Features[f].Series;
            row[f] = Of(series, at, statistics).Value(Features[f].Statistic);
        }
        return row;
    }

    private int MainAxis(int[][] series, WindowStatistics?[] statistics)
    {
        int main = -1;
        for (int i = 0; i < _channels.Count; i++)
        {
            if (_channels[i].Name[0] != 'a') { continue; }
            if (main < 0 || Of(series, i, statistics).Deviation > Of(series, main, statistics).Deviation) { main = i; }
        }
        return main;
    }

    private WindowStatistics Of(int[][] series, int at, WindowStatistics?[] statistics) =>
        statistics[at] ??= WindowStatistics.Of(series[at]);

    /// <summary>
    /// One window of an unbroken stretch: the channels in counts, then |a|, then |g| where the gyro has all axes: the order of
    /// <see cref="Feature.SeriesNames"/>.
    /// </summary>
    private int[][] Series(int from, int to, long start)
    {
        var series = new List<int[]>();
        for (int c = 0; c < _channels.Count; c++)
        {
            double[] fed = Fed(_motion[c], from, to, start);
            double units = _channels[c].UnitsPerCount;
            series.Add(Array.ConvertAll(fed, v => (int)Math.Clamp(Math.Round(v / units), -MotionModel.MaxCount, MotionModel.MaxCount)));
        }
        var names = _channels.Select(c => c.Name).ToList();
        int[] acceleration = [names.IndexOf("ax"), names.IndexOf("ay"), names.IndexOf("az")], gyro = [names.IndexOf("gx"), names.IndexOf("gy"), names.IndexOf("gz")];
        var channels = series.ToArray();
        series.Add(Length(channels, acceleration));
        if (!gyro.Contains(-1)) { series.Add(Length(channels, gyro)); }
        return [.. series];
    }

    /// <summary>The values of a window at the model's rate, whatever the length of the stretch that it is a part of.</summary>
    private double[] Fed(Series<double> motion, int from, int to, long start)
    {
        if (_resampler is null) { return motion.Slice(from + (int)start, _window); }
        var line = new EndToEndLine(motion[from], motion[to - 1], to - from);
        var (first, last) = _resampler.InputOf(start, _window, to - from);
        return _resampler.Part(motion.Read(from + first, last - first), first, line, start, _window);
    }

    private static int[] Length(int[][] channels, int[] axes)
    {
        var lengths = new int[channels[0].Length];
        for (int i = 0; i < lengths.Length; i++)
        {
            ulong squares = 0;
            foreach (int axis in axes) { squares += (ulong)((long)channels[axis][i] * channels[axis][i]); }
            lengths[i] = (int)IntegerRoot.Floor(squares);
        }
        return lengths;
    }
}
