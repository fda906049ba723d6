using HilRunner.Core.Files;
using HilRunner.Inspection.Reading;

namespace HilRunner.Inspection;

/// <summary>What a page draws of a recording, reduced to what it can show.</summary>
/// <param name="Channels">In the recording's order.</param>
/// <param name="Rest">|a| in the still seconds, g; null where nothing is still.</param>
/// <param name="Intervals">Even steps and others of the time column, in ms; null without times.</param>
/// <param name="Spectra">The classes that move, at most eight, longest first.</param>
public sealed record Pictures(IReadOnlyList<SignalPicture> Channels, Histogram? Rest, Histogram? Intervals, IReadOnlyList<SpectrumPicture> Spectra)
{
    private const int Buckets = 600, Bins = 40, MostSpectra = 8, MostLines = 400;

    internal static Pictures Of(InspectionContext context) => new(
        [.. context.Recording.ChannelNames.Select((name, i) => Signal(context, name, context.Recording.Channels[i]))],
        RestHistogram(context), IntervalHistogram(context), SpectraOf(context));

    /// <summary>Least and greatest value of equal stretches of time.</summary>
    private static SignalPicture Signal(InspectionContext context, string name, Series<double> values)
    {
        double[] least = new double[Buckets], most = new double[Buckets];
        Array.Fill(least, double.NaN);
        Array.Fill(most, double.NaN);
        double end = Math.Max(1, context.Axis.EndNs);
        for (int i = 0; i < values.Length; i++)
        {
            double value = values[i];
            if (double.IsNaN(value)) { continue; }
            int bucket = Math.Clamp((int)(context.Axis.At(i) / end * Buckets), 0, Buckets - 1);
            if (!(least[bucket] <= value)) { least[bucket] = value; }
            if (!(most[bucket] >= value)) { most[bucket] = value; }
        }
        return new(name, InspectionContext.IsAcceleration(name) ? "g" : "°/s", least, most);
    }

    private static Histogram? RestHistogram(InspectionContext context)
    {
        if (context.Magnitude is not { } a || context.Rest.Still.Length == 0) { return null; }
        return Histogram.Of(Lengths(), Bins, "g");

        IEnumerable<double> Lengths()
        {
            foreach (var w in context.Rest.Still)
            {
                for (int i = w.From; i < w.To; i++) { yield return a[i]; }
            }
        }
    }

    private static Histogram? IntervalHistogram(InspectionContext context)
    {
        if (context.Recording.TimesNs is not { Length: > 1 } times) { return null; }
        double step = context.Axis.StepNs;
        // Beyond twice the median step it is a gap, with places of its own; here it would flatten everything else.
        return Histogram.Of(Steps(), Bins, "ms");

        IEnumerable<double> Steps()
        {
            long before = InspectedRecording.NoTime;
            foreach (long now in times)
            {
                bool known = now != InspectedRecording.NoTime && before != InspectedRecording.NoTime;
                if (known) { yield return Math.Clamp(now - before, -step, 2 * step) / 1e6; }
                before = now;
            }
        }
    }

    private static IReadOnlyList<SpectrumPicture> SpectraOf(InspectionContext context) =>
    [
        .. context.Spectra.All.Where(s => s.Moves).Take(MostSpectra).Select(s =>
        {
            int per = (s.Axes.Length + MostLines - 1) / MostLines;
            double[] lines = [.. s.Axes.Skip(1).Chunk(per).Select(c => c.Max())];
            return new SpectrumPicture(s.Class, s.ResolutionHz * per, lines, s.DominantAxesHz);
        }),
    ];
}

/// <summary>A channel over time in buckets of equal length; NaN: nothing there.</summary>
public sealed record SignalPicture(string Name, string Unit, double[] Least, double[] Most);

/// <summary>Density of the three axes, added, g²/Hz, from one line above 0 on; of several lines the greatest.</summary>
/// <param name="Class">"" for a recording without labels.</param>
public sealed record SpectrumPicture(string Class, double StepHz, double[] Density, double? PeakHz);

/// <summary>Counts in bins of equal width from <paramref name="From"/> on.</summary>
public sealed record Histogram(double From, double Width, long[] Counts, string Unit)
{
    /// <summary>Of the finite values, which are gone over twice; null without any.</summary>
    internal static Histogram? Of(IEnumerable<double> values, int bins, string unit)
    {
        double least = double.PositiveInfinity, most = double.NegativeInfinity;
        foreach (double v in values)
        {
            if (!double.IsFinite(v)) { continue; }
            least = Math.Min(least, v);
            most = Math.Max(most, v);
        }
        if (most < least) { return null; }
        // All in one place is one bin of a nominal width, not forty of none.
        double width = most - least > 1e-9 * Math.Max(1, Math.Abs(most)) ? (most - least) / bins : Math.Max(1e-6, Math.Abs(most) * 1e-3);
        var counts = new long[most - least > 1e-9 * Math.Max(1, Math.Abs(most)) ? bins : 1];
        foreach (double v in values)
        {
            if (double.IsFinite(v)) { counts[Math.Clamp((int)((v - least) / width), 0, counts.Length - 1)]++; }
        }
        return new(least, width, counts, unit);
    }
}
