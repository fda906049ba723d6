using HilRunner.Core.Files;
using HilRunner.Core.Recordings;
using HilRunner.Inspection.Labels;
using HilRunner.Inspection.Reading;
using HilRunner.Inspection.Rest;
using HilRunner.Inspection.Spectrum;

namespace HilRunner.Inspection;

/// <summary>Samples [From, To).</summary>
internal readonly record struct SampleSpan(int From, int To);

/// <summary>A recording with what several checks need of it, each worked out once.</summary>
internal sealed class InspectionContext
{
    private readonly Lazy<Series<double>?> _magnitude;
    private readonly Lazy<RestWindows> _rest;
    private readonly Lazy<Series<SampleSpan>> _unbroken;
    private readonly Lazy<ClassSegments> _segments;
    private readonly Lazy<ClassSpectra> _spectra;

    public InspectionContext(InspectedRecording recording, InspectionOptions options)
    {
        (Recording, Options) = (recording, options);
        Axis = SampleAxis.Of(recording);
        Acceleration = Vector("ax", "ay", "az");
        Gyro = Vector("gx", "gy", "gz");
        _magnitude = new(() => Acceleration is { } a ? Lengths(a) : null);
        _rest = new(() => RestWindows.Of(this));
        _unbroken = new(FindUnbroken);
        _segments = new(() => ClassSegments.Of(this));
        _spectra = new(() => ClassSpectra.Of(this));
    }

    public InspectedRecording Recording { get; }
    public InspectionOptions Options { get; }
    public SampleAxis Axis { get; }
    public double RateHz => 1e9 / Axis.StepNs;

    /// <summary>x, y, z in g; null where an axis is missing.</summary>
    public Series<double>[]? Acceleration { get; }

    /// <summary>x, y, z in °/s; null where an axis is missing.</summary>
    public Series<double>[]? Gyro { get; }

    /// <summary>|a| in g, NaN where a value is missing; null where an axis is missing.</summary>
    public Series<double>? Magnitude => _magnitude.Value;
    public RestWindows Rest => _rest.Value;
    public ClassSegments Segments => _segments.Value;
    public ClassSpectra Spectra => _spectra.Value;

    /// <summary>Samples [From, To) that follow each other evenly and have a value in every channel.</summary>
    public Series<SampleSpan> Unbroken => _unbroken.Value;

    public static bool IsAcceleration(string channel) => ColumnUse.IsAcceleration(channel);

    /// <summary>The parts of [from, to) that are unbroken.</summary>
    public IEnumerable<SampleSpan> UnbrokenWithin(int from, int to)
    {
        var all = Unbroken;
        int low = 0, high = all.Length;
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (all[middle].To > from) { high = middle; } else { low = middle + 1; }
        }
        for (int i = low; i < all.Length && all[i].From < to; i++)
        {
            yield return new(Math.Max(from, all[i].From), Math.Min(to, all[i].To));
        }
    }

    private Series<double>[]? Vector(string x, string y, string z)
    {
        var names = Recording.ChannelNames.ToList();
        int[] at = [names.IndexOf(x), names.IndexOf(y), names.IndexOf(z)];
        return at.Contains(-1) ? null : [.. at.Select(i => Recording.Channels[i])];
    }

    private static Series<double> Lengths(Series<double>[] vector)
    {
        var (x, y, z) = (vector[0], vector[1], vector[2]);
        var lengths = new SeriesBuilder<double>();
        for (int i = 0; i < x.Length; i++)
        {
            double ax = x[i], ay = y[i], az = z[i];
            lengths.Add(Math.Sqrt(ax * ax + ay * ay + az * az));
        }
        return lengths.Build();
    }

    private Series<SampleSpan> FindUnbroken()
    {
        var runs = new SeriesBuilder<SampleSpan>();
        var breaks = Axis.Breaks;
        // As an array: an enumerator for every sample would cost more than the look.
        Series<double>[] channels = [.. Recording.Channels];
        int next = 0, start = -1;
        for (int i = 0; i < Axis.Count; i++)
        {
            bool broken = next < breaks.Length && breaks[next] == i;
            if (broken) { next++; }
            bool missing = IsMissing(channels, i);
            if (start >= 0 && (broken || missing))
            {
                runs.Add(new(start, i));
                start = -1;
            }
            if (start < 0 && !missing) { start = i; }
        }
        if (start >= 0) { runs.Add(new(start, Axis.Count)); }
        return runs.Build();
    }

    private static bool IsMissing(Series<double>[] channels, int sample)
    {
        foreach (var channel in channels)
        {
            if (double.IsNaN(channel[sample])) { return true; }
        }
        return false;
    }
}
