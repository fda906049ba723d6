using HilRunner.Core.Recordings;
using HilRunner.Inspection.Labels;
using HilRunner.Inspection.Reading;
using HilRunner.Inspection.Rest;
using HilRunner.Inspection.Spectrum;

namespace HilRunner.Inspection;

/// <summary>A recording with what several checks need of it, each worked out once.</summary>
internal sealed class InspectionContext
{
    private readonly Lazy<double[]?> _magnitude;
    private readonly Lazy<RestWindows> _rest;
    private readonly Lazy<IReadOnlyList<(int From, int To)>> _unbroken;
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
    public double[][]? Acceleration { get; }

    /// <summary>x, y, z in °/s; null where an axis is missing.</summary>
    public double[][]? Gyro { get; }

    /// <summary>|a| in g, NaN where a value is missing; null where an axis is missing.</summary>
    public double[]? Magnitude => _magnitude.Value;
    public RestWindows Rest => _rest.Value;
    public ClassSegments Segments => _segments.Value;
    public ClassSpectra Spectra => _spectra.Value;

    /// <summary>Samples [From, To) that follow each other evenly and have a value in every channel.</summary>
    public IReadOnlyList<(int From, int To)> Unbroken => _unbroken.Value;

    public static bool IsAcceleration(string channel) => ColumnUse.IsAcceleration(channel);

    /// <summary>The parts of [from, to) that are unbroken.</summary>
    public IEnumerable<(int From, int To)> UnbrokenWithin(int from, int to)
    {
        var all = Unbroken;
        int low = 0, high = all.Count;
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (all[middle].To > from) { high = middle; } else { low = middle + 1; }
        }
        for (int i = low; i < all.Count && all[i].From < to; i++)
        {
            yield return (Math.Max(from, all[i].From), Math.Min(to, all[i].To));
        }
    }

    private double[][]? Vector(string x, string y, string z)
    {
        var names = Recording.ChannelNames.ToList();
        int[] at = [names.IndexOf(x), names.IndexOf(y), names.IndexOf(z)];
        return at.Contains(-1) ? null : [.. at.Select(i => Recording.Channels[i])];
    }

    private static double[] Lengths(double[][] vector)
    {
        var (x, y, z) = (vector[0], vector[1], vector[2]);
        var lengths = new double[x.Length];
        for (int i = 0; i < lengths.Length; i++) { lengths[i] = Math.Sqrt(x[i] * x[i] + y[i] * y[i] + z[i] * z[i]); }
        return lengths;
    }

    private IReadOnlyList<(int From, int To)> FindUnbroken()
    {
        var runs = new List<(int, int)>();
        var breaks = Axis.Breaks;
        // As an array: an enumerator for every sample would cost more than the look.
        double[][] channels = [.. Recording.Channels];
        int next = 0, start = -1;
        for (int i = 0; i < Axis.Count; i++)
        {
            bool broken = next < breaks.Count && breaks[next] == i;
            if (broken) { next++; }
            bool missing = IsMissing(channels, i);
            if (start >= 0 && (broken || missing))
            {
                runs.Add((start, i));
                start = -1;
            }
            if (start < 0 && !missing) { start = i; }
        }
        if (start >= 0) { runs.Add((start, Axis.Count)); }
        return runs;
    }

    private static bool IsMissing(double[][] channels, int sample)
    {
        foreach (double[] channel in channels)
        {
            if (double.IsNaN(channel[sample])) { return true; }
        }
        return false;
    }
}
