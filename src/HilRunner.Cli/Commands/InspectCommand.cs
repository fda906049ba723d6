using System.CommandLine;
using System.Runtime;
using System.Text;
using HilRunner.Application.Inspecting;
using HilRunner.Application;
using HilRunner.Cli.Screen;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core;
using HilRunner.Core.Documents;
using HilRunner.Core.Models;
using HilRunner.Core.Recordings.Likeness;
using HilRunner.Core.Time;
using HilRunner.Inspection;
using HilRunner.Inspection.Json;
using HilRunner.Inspection.Reading;
using HilRunner.Inspection.Results;
using HilRunner.Reporting;

namespace HilRunner.Cli.Commands;

/// <summary>May these recordings be used, and why not.</summary>
internal static class InspectCommand
{
    private static readonly Argument<string[]> s_recordings = new("recording") { Description = "Recordings, scenarios or suites whose recordings are meant, or folders of them.", Arity = ArgumentArity.OneOrMore };
    private static readonly Option<string?> s_reference = new("--reference") { Description = "A recording of the same mounting that is known to be right: finds swapped axes and signs." };
    private static readonly Option<string?> s_rate = new("--rate") { Description = "Sample rate of the device, for instance 50Hz: how much of the motion it cannot see." };
    private static readonly Option<string?> s_model = new("--model") { Description = "A model file: labels are held against motion in its features, and its rate is the device's." };
    private static readonly Option<bool> s_severity = new("--severity") { Description = "Tell the velocity severity of every class (mm/s rms, 10 to 1000 Hz), for recordings of machines: information, no judgement." };
    private static readonly Option<bool> s_json = new("--json") { Description = "Print everything as JSON." };
    private static readonly Option<string?> s_html = new("--html") { Description = "Write a page with plots to this file." };

    public static Command Create()
    {
        var command = new Command(
            "inspect",
            """
            Says whether recordings may be used, and why not: rate, gaps, clipping, stuck and missing values,
            gravity, axes, spectrum, labels. Exit code 0 fit, 2 usable with care, 1 unfit.

            Examples:
              hil inspect scenarios/parcel/recordings/morning.csv
              hil inspect scenarios/parcel/suite.yaml --rate 50Hz --html inspection.html
            """)
        { s_recordings, s_reference, s_rate, s_model, s_severity, s_json, s_html };
        command.SetAction(Run);
        return command;
    }

    private static int Run(ParseResult parsed)
    {
        // A recording of any size is gone over in little memory: the collector is not to let garbage pile up beside the work.
        GCSettings.LatencyMode = GCLatencyMode.Batch;
        SampleRate? rate = parsed.GetValue(s_rate) is { } text ? Rate(text) : null;
        string? html = parsed.GetValue(s_html);
        if (html is not null) { CheckWritable(html); }
        var model = parsed.GetValue(s_model) is { } modelPath ? MotionModel.Read(modelPath) : null;
        var options = new InspectionOptions
        {
            DeviceRate = rate ?? model?.Rate,
            Model = model,
            Severity = parsed.GetValue(s_severity),
            Reference = parsed.GetValue(s_reference) is { } reference ? Reference(reference) : null,
        };
        var faults = new List<Fault>();
        var notes = new List<string>();
        var inspections = new List<RecordingInspection>();
        var prints = new List<MotionPrint>();
        var paths = InspectedPaths.Of(parsed.GetValue(s_recordings)!, faults, notes);
        foreach (var path in paths)
        {
            // A broken file must not hide what can be said about the others.
            try
            {
                var inspection =
                    Inspector.Inspect(path.Read(), options with { Momentary = path.Momentary, Unscored = path.Unscored });
                if (paths.Count > 1) { prints.Add(Print(inspection.Recording)); }
                inspections.Add(inspection with { Recording = inspection.Recording.WithoutSamples() });
            }
            catch (BadInputException input) { faults.AddRange(input.Faults); }
        }
        foreach (var same in SharedMotions.Of(prints))
        {
            notes.Add(FormattableString.Invariant(
                $"{inspections[same.First].Recording.Path} and {inspections[same.Second].Recording.Path} hold the same motion, {same.OverlapNs / 1e9:0.0} s of it, from {Math.Max(0, same.ShiftNs) / 1e9:0.0} s of the first on: it counts once as an independent trial"));
        }
        foreach (string note in notes) { Console.Error.WriteLine($"hil: {note}"); }
        if (parsed.GetValue(s_json)) { Terminal.Documents.Write(InspectionJson.ToText(inspections)); }
        else { InspectionScreen.Print(inspections); }
        if (html is not null)
        {
            Write(html, inspections);
            (parsed.GetValue(s_json) ? Console.Error : Console.Out).WriteLine(html);
        }
        if (faults.Count > 0) { throw new BadInputException(faults); }
        return inspections.Count == 0 ? ExitCodes.Inconclusive : CodeOf(inspections.Max(i => i.Verdict));
    }

    private static MotionPrint Print(InspectedRecording recording)
    {
        // Times that are uneven by a little do not matter here: what is looked for is the same in many seconds.
        double seconds = recording.TimesNs is { Length: > 1 } times ? (times[^1] - times[0]) / 1e9 : 0;
        double hertz = recording.StatedRate?.Hertz ?? (seconds > 0 ? (recording.SampleCount - 1) / seconds : MotionPrint.Rate);
        return MotionPrint.Of(new((long)Math.Clamp(Math.Round(hertz * 1000), 1000, 10_000_000_000)), recording.ChannelNames,
            recording.Channels);
    }

    private static int CodeOf(Fitness verdict) => verdict switch
    {
        Fitness.Fit => ExitCodes.Pass,
        Fitness.WithCare => ExitCodes.Inconclusive,
        _ => ExitCodes.Fail,
    };

    private static SampleRate Rate(string text)
    {
        try { return Quantity.Rate(text); }
        catch (FormatException fault) { throw new UsageException($"--rate: {fault.Message}"); }
    }

    private static InspectedRecording Reference(string path)
    {
        var faults = new List<Fault>();
        var found = InspectedPaths.Of([path], faults, []);
        if (faults.Count > 0) { throw new BadInputException(faults); }
        return found.Count == 1 ? found[0].Read() : throw new UsageException($"--reference: {path} names {found.Count} recordings; expected one");
    }

    private static void CheckWritable(string path)
    {
        string? folder = Path.GetDirectoryName(Path.GetFullPath(path));
        if (Directory.Exists(path) || !Directory.Exists(folder)) { throw new UsageException($"--html: {path} cannot be written; expected a file in a folder that exists"); }
    }

    private static void Write(string path, IReadOnlyList<RecordingInspection> inspections)
    {
        using var writer = new StreamWriter(path, append: false, new UTF8Encoding(false));
        InspectReport.Write(inspections, writer);
    }
}
