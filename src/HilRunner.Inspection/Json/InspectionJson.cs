using System.Text.Json;
using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Json;

/// <summary>
/// Inspections as JSON: {"schema":1, "verdict", "recordings": […]}, each with path, verdict, rate_hz, length_s, samples, channels, checks (name, fitness or null,
/// summary, figures as name → {value, unit}, findings) and classes. Absent figures are null.
/// </summary>
public static class InspectionJson
{
    private static readonly JsonSerializerOptions s_options = new() { WriteIndented = true, Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    public static string ToText(IReadOnlyList<RecordingInspection> inspections) => JsonSerializer.Serialize(
        new
        {
            schema = 1,
            verdict = inspections.Count == 0 ? null : FitnessWords.Of(inspections.Max(i => i.Verdict)),
            recordings = inspections.Select(Recording),
        }, s_options) + "\n";

    private static object Recording(RecordingInspection i) => new
    {
        path = i.Recording.Path,
        name = i.Recording.Name,
        verdict = FitnessWords.Of(i.Verdict),
        samples = i.Recording.SampleCount,
        length_s = i.EndNs / 1e9,
        stated_rate_hz = i.Recording.StatedRate?.Hertz,
        channels = i.Recording.ChannelNames,
        invented = i.Recording.Info.Invented,
        checks = i.Checks.Select(c => new
        {
            check = c.Check,
            fitness = c.Fitness is { } f ? FitnessWords.Of(f) : null,
            summary = c.Summary,
            figures = c.Figures.ToDictionary(x => x.Name, x => new { value = x.Value, unit = x.Unit }),
            findings = c.Findings.Select(Finding),
        }),
        classes = i.Classes.Select(c => new
        {
            @class = c.Class, segments = c.Segments, seconds = c.Seconds, share = c.Share, shortest_s = c.ShortestS,
            mean_g = c.MeanG, deviation_g = c.DeviationG, dominant_hz = c.DominantHz, dominant_axes_hz = c.DominantAxesHz,
        }),
    };

    private static object Finding(Finding f) => new
    {
        kind = f.Kind,
        fitness = FitnessWords.Of(f.Fitness),
        what = f.What,
        figure = new { name = f.Figure.Name, value = f.Figure.Value, unit = f.Figure.Unit },
        remedy = f.Remedy,
        places = f.Places,
        where = f.Where.Select(w => new { from_s = w.FromNs / 1e9, to_s = w.ToNs / 1e9 }),
    };
}
