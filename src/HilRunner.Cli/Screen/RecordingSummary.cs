using System.Text.Json;
using HilRunner.Application.Recorders;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core.Rigs;
using HilRunner.Engine.Recorders;

namespace HilRunner.Cli.Screen;

/// <summary>The end of <c>hil record</c>: what lies where, how long it is, what its labels are, and what went wrong.</summary>
internal static class RecordingSummary
{
    private const int MostParts = 20;
    private const int MostIncidents = 10;
    private static readonly JsonSerializerOptions s_json = new() { WriteIndented = true };

    public static void Print(Recorder recorder, RecordingEnd end, RecordingTarget target, InputSpec input)
    {
        foreach (var part in recorder.Parts.Take(MostParts))
        {
            string labels = part.Labels.Count == 0 ? "no labels" : string.Join(", ", Seconds(part).Select(l => FormattableString.Invariant($"{l.Key} {l.Value:0.0} s")));
            Console.Out.WriteLine(FormattableString.Invariant($"{Shown(part.Path)}  {part.Duration.Seconds:0.0##} s, {part.SampleCount} samples; {labels}"));
        }
        if (recorder.Parts.Count > MostParts) { Console.Out.WriteLine($"and {recorder.Parts.Count - MostParts} more parts"); }
        if (Rate(recorder) is { } rate)
        {
            string off = rate.IsOff(input.Rate) ? "; this is off: correct input.rate in the rig file, or look for lost samples" : "";
            Console.Out.WriteLine(FormattableString.Invariant($"true rate {rate.Hertz:0.0000} Hz ± {rate.UncertaintyHz:0.0000} Hz, stated {input.Rate}{off}"));
        }
        foreach (string what in recorder.Incidents.Take(MostIncidents)) { Console.Out.WriteLine($"! {what}"); }
        if (recorder.IncidentCount > MostIncidents) { Console.Out.WriteLine($"! and {recorder.IncidentCount - MostIncidents} more"); }
        if (recorder.Parts.Count > 1) { Console.Out.WriteLine("Each part is an unbroken series of its own; a gap is never closed."); }
        if (File.Exists(target.Capture)) { Console.Out.WriteLine(Shown(target.Capture)); }
        if (end.Message.Length > 0 && end.Cause != Engine.Playing.EndCause.Stopped) { Console.Error.WriteLine($"hil: {end.Message}"); }
    }

    public static void PrintJson(Recorder recorder, RecordingEnd end, RecordingTarget target, InputSpec input) =>
        Terminal.Documents.WriteLine(JsonSerializer.Serialize(
            new
            {
                schema = 1,
                parts = recorder.Parts.Select(p => new
                {
                    path = p.Path,
                    samples = p.SampleCount,
                    seconds = p.Duration.Seconds,
                    begins = p.Begins,
                    labels_s = Seconds(p),
                    rate_hz = p.Arrivals.Rate?.Hertz,
                    rate_uncertainty_hz = p.Arrivals.Rate?.UncertaintyHz,
                }),
                stated_rate_hz = input.Rate.Hertz,
                rate_is_off = Rate(recorder)?.IsOff(input.Rate),
                samples_lost = recorder.SamplesLost,
                samples_repeated = recorder.SamplesRepeated,
                frames_bad = recorder.Decoded.FramesBad,
                lines_unknown = recorder.Decoded.LinesUnknown,
                incidents = recorder.Incidents,
                incident_count = recorder.IncidentCount,
                capture = File.Exists(target.Capture) ? target.Capture : null,
                end_cause = end.Cause,
                end_message = end.Message,
            },
            s_json));

    /// <summary>From the longest part.</summary>
    public static MeasuredRate? Rate(Recorder recorder) => recorder.Parts.MaxBy(p => p.SampleCount)?.Arrivals.Rate;

    private static Dictionary<string, decimal> Seconds(RecordedPart part) => part.Labels
        .GroupBy(l => l.Class).ToDictionary(g => g.Key, g => g.Sum(l => l.End.Seconds - l.Start.Seconds));

    private static string Shown(string path)
    {
        string relative = Path.GetRelativePath(Environment.CurrentDirectory, path);
        return relative.StartsWith("..", StringComparison.Ordinal) ? path : relative;
    }
}
