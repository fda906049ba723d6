using HilRunner.Core.Files;
using HilRunner.Inspection.Labels;

namespace HilRunner.Inspection.Spectrum;

/// <summary>Mean spectra of a class's segments.</summary>
/// <param name="Length">Density of |a|, g²/Hz.</param>
/// <param name="Axes">Densities of the three axes, added.</param>
/// <param name="AxisDensities">Of each axis.</param>
/// <param name="DeviationG">√ of the power of <paramref name="Axes"/>.</param>
/// <param name="SegmentDominantHz">Peak of |a| in each segment of at least a second, by start; at most 1 000.</param>
internal sealed record ClassSpectrum(string Class, double ResolutionHz, double[] Length, double[] Axes, IReadOnlyList<double[]> AxisDensities, double DeviationG, IReadOnlyList<double> SegmentDominantHz)
{
    public bool Moves => DeviationG > Thresholds.MotionDeviation.Value;
    public double? DominantHz => Moves ? SpectralPeak.Of(Length, ResolutionHz) : null;
    public double? DominantAxesHz => Moves ? SpectralPeak.Of(Axes, ResolutionHz) : null;

    /// <summary>Share of the power of the axes above a frequency; the line that it cuts counts in part.</summary>
    public double ShareAbove(double hz)
    {
        double all = 0, above = 0;
        for (int k = 1; k < Axes.Length; k++)
        {
            double low = (k - 0.5) * ResolutionHz, high = (k + 0.5) * ResolutionHz;
            all += Axes[k];
            above += Axes[k] * Math.Clamp((high - hz) / (high - low), 0, 1);
        }
        return all > 0 ? above / all : 0;
    }
}

/// <summary>Spectra by class, of the longest classes; the whole recording under "" where there are no labels.</summary>
internal sealed class ClassSpectra
{
    /// <summary>Most windows averaged for one class; beyond, evenly thinned out.</summary>
    private const int MostWindows = 2_000;
    private const int MostSegments = 1_000;

    private readonly Dictionary<string, ClassSpectrum> _spectra = new(StringComparer.Ordinal);

    /// <summary>Longest first.</summary>
    public IReadOnlyList<ClassSpectrum> All { get; private set; } = [];

    public ClassSpectrum? Of(string name) => _spectra.GetValueOrDefault(name);

    public static ClassSpectra Of(InspectionContext context)
    {
        var spectra = new ClassSpectra();
        if (context.Acceleration is null || context.Magnitude is not { } length) { return spectra; }
        IEnumerable<Segment> segments = context.Segments.All.Count > 0 ? context.Segments.All : [new("", 0, context.Axis.Count, 0, context.Axis.EndNs)];
        foreach (var group in segments.GroupBy(s => s.Class)
            .OrderByDescending(g => g.Sum(s => (long)s.To - s.From)).Take(ClassSegments.MostJudged))
        {
            if (Of(context, length, group.Key, [.. group]) is { } spectrum) { spectra._spectra.Add(group.Key, spectrum); }
        }
        spectra.All = [.. spectra._spectra.Values];
        return spectra;
    }

    private static ClassSpectrum? Of(InspectionContext context, Series<double> length, string name, List<Segment> segments)
    {
        double rateHz = context.RateHz;
        int size = Welch.LengthFor(rateHz);
        var ofLength = new Welch(rateHz, size);
        Welch[] ofAxes = [new(rateHz, size), new(rateHz, size), new(rateHz, size)];
        long windows = segments.Sum(s => (s.To - s.From) / (size / 2L) + 1);
        int stride = (int)Math.Max(1, windows / MostWindows), thinned = Math.Max(1, segments.Count / MostWindows);
        var dominant = new List<double>();
        for (int s = 0; s < segments.Count; s += thinned)
        {
            var one = new Welch(rateHz, size);
            foreach (var (from, to) in context.UnbrokenWithin(segments[s].From, segments[s].To))
            {
                // Less than a second says nothing about a frequency.
                if (to - from < Math.Max(8, rateHz)) { continue; }
                ofLength.Add(length, from, to, stride);
                for (int axis = 0; axis < 3; axis++) { ofAxes[axis].Add(context.Acceleration![axis], from, to, stride); }
                if (dominant.Count < MostSegments) { one.Add(length, from, to, stride); }
            }
            if (one.Density is { } density && SpectralPeak.Of(density, one.ResolutionHz) is { } peak) { dominant.Add(peak); }
        }
        if (ofLength.Density is not { } mean) { return null; }
        double[] axes = new double[mean.Length];
        double[][] densities = [.. ofAxes.Select(w => w.Density!)];
        foreach (double[] density in densities)
        {
            for (int k = 0; k < axes.Length; k++) { axes[k] += density[k]; }
        }
        return new(name, ofLength.ResolutionHz, mean, axes, densities, Math.Sqrt(axes.Skip(1).Sum() * ofLength.ResolutionHz), dominant);
    }
}
