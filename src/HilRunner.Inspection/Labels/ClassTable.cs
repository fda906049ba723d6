namespace HilRunner.Inspection.Labels;

/// <summary>A class in numbers.</summary>
/// <param name="Share">Of all labelled time.</param>
/// <param name="DeviationG">Standard deviation of |a| over its samples; null without three axes.</param>
/// <param name="DominantHz">Peak of the mean spectrum of |a|; null where it does not move.</param>
/// <param name="DominantAxesHz">Peak of the summed spectrum of the axes.</param>
public sealed record ClassRow(
    string Class, int Segments, double Seconds, double Share, double ShortestS, double? MeanG, double? DeviationG, double? DominantHz, double? DominantAxesHz);

internal static class ClassTable
{
    /// <summary>Longest first.</summary>
    public static IReadOnlyList<ClassRow> Of(InspectionContext context)
    {
        var segments = context.Segments;
        double all = segments.ByClass.Keys.Sum(k => segments.NsOf(k) / 1e9);
        return
        [
            .. segments.ByClass.Select(c =>
            {
                double seconds = segments.NsOf(c.Key) / 1e9;
                var (mean, deviation) = Length(context, c.Value);
                var spectrum = context.Spectra.Of(c.Key);
                return new ClassRow(c.Key, c.Value.Count, seconds, seconds / all, c.Value.Min(s => s.EndNs - s.StartNs) / 1e9,
                    mean, deviation, spectrum?.DominantHz, spectrum?.DominantAxesHz);
            }).OrderByDescending(r => r.Seconds).ThenBy(r => r.Class, StringComparer.Ordinal),
        ];
    }

    private static (double? Mean, double? Deviation) Length(InspectionContext context, IReadOnlyList<Segment> segments)
    {
        if (context.Magnitude is not { } a) { return (null, null); }
        double sum = 0, squares = 0;
        long count = 0;
        foreach (var s in segments)
        {
            for (int i = s.From; i < s.To; i++)
            {
                double off = a[i] - 1;
                if (double.IsNaN(off)) { continue; }
                sum += off;
                squares += off * off;
                count++;
            }
        }
        if (count == 0) { return (null, null); }
        double mean = sum / count;
        return (1 + mean, Math.Sqrt(Math.Max(0, squares / count - mean * mean)));
    }
}
