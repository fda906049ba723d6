using System.CommandLine;
using System.Globalization;
using HilRunner.Application.Benches;
using HilRunner.Application.Recorders;
using HilRunner.Application;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Cli.Screen;
using HilRunner.Core.Recordings;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Engine.Plans;
using HilRunner.Engine.Playing;
using HilRunner.Engine.Prompting;

namespace HilRunner.Cli.Commands;

/// <summary>From the device's own sensor to a recording with labels.</summary>
internal static class RecordCommand
{
    private static readonly Option<string> s_rig = new("--rig") { Description = "The rig file. It describes what the device says of its own motion: says.sample, and hears.stream where it must be asked.", Required = true };
    private static readonly Option<string?> s_link = new("--link") { Description = "Another link than the rig's." };
    private static readonly Option<string?> s_out = new("--out") { Description = "Name of the recording, perhaps in a folder: NAME.csv, NAME.labels.csv, NAME.yaml, NAME.pcapng. Default: the rig's name and the time." };
    private static readonly Option<string?> s_for = new("--for") { Description = "How long, for instance 60s. Default: until q or Ctrl-C, or until the script's end." };
    private static readonly Option<string?> s_script = new("--script") { Description = "A scenario made of prompts: says what to do and sets the labels. SPACE marks when you really begin." };
    private static readonly Option<string[]> s_class = new("--class") { Description = "A class to label by key; may be given several times. Default: the rig's classes." };
    private static readonly Option<string?> s_source = new("--source") { Description = "Who or what is recorded." };
    private static readonly Option<string?> s_mounting = new("--mounting") { Description = "How and where the device is fixed." };
    private static readonly Option<string?> s_place = new("--place") { Description = "Where the recording is made." };
    private static readonly Option<bool> s_yes = new("--yes") { Description = "Ask nothing beforehand." };
    private static readonly Option<bool> s_bell = new("--bell") { Description = "Ring the terminal's bell at each prompt." };
    private static readonly Option<bool> s_json = new("--json") { Description = "Print the result as JSON." };

    public static Command Create()
    {
        var command = new Command(
            "record",
            """
            Records what the device's own sensor measures, with labels by key press or from a script. A gap
            in the samples begins a new part; nothing is filled in. The capture is kept beside it.
            Exit code: 0 recorded whole; 2 samples were lost, or the rate is off; 3 it ended early, or
            nothing was recorded; 130 interrupted before its end. What there is is always kept.

            Example:
              hil record --rig rigs/virtual.yaml --out recordings/bench --for 60s
            """)
        { s_rig, s_link, s_out, s_for, s_script, s_class, s_source, s_mounting, s_place, s_yes, s_bell, s_json };
        command.SetAction(RecordAsync);
        return command;
    }

    private static async Task<int> RecordAsync(ParseResult parsed, CancellationToken stop)
    {
        string rigPath = parsed.GetValue(s_rig)!;
        string? link = parsed.GetValue(s_link);
        var rig = RigFiles.Read(rigPath, link);
        if (rig.Device.Says.Sample is null)
        {
            throw new UsageException($"record: {rigPath} does not describe the samples that the device says: add says.sample, and hears.stream where it must be asked to say them");
        }
        TimeSpan? length = parsed.GetValue(s_for) is { } time ? Length(time) : null;
        PromptSchedule? script = parsed.GetValue(s_script) is { } path ? Script(path, rig) : null;
        if (script is not null && length is not null) { throw new UsageException("record: --for and --script: the script says how long; leave one out"); }
        if (script is not null && !KeyReader.HasTerminal)
        {
            throw new UsageException("record: --script tells a person what to do and takes their keys: it needs a terminal");
        }
        var keys = ClassKeys.Of(rig, parsed.GetValue(s_class) ?? []);
        DateTimeOffset now = Composition.Context.Now;
        var target = RecordingTarget.Of(parsed.GetValue(s_out), rig.Name, now);
        var info = Info(parsed, rig, target, now, script is not null);
        var order = new PlayerOrder(rigPath, await File.ReadAllTextAsync(rigPath, stop).ConfigureAwait(false), link, Composition.Clock.UnixAtZeroNs);
        var screen = new RecordScreen(rig.Device, keys, target.Name);
        using var job = new RecordingJob(
            Composition.Context, new(rig, order, target, info, length, script, keys, parsed.GetValue(s_bell)), screen);
        RecordingEnd end = await job.RunAsync(stop).ConfigureAwait(false);
        if (parsed.GetValue(s_json)) { RecordingSummary.PrintJson(job.Recorder, end, target, rig.Device.Input); }
        else { RecordingSummary.Print(job.Recorder, end, target, rig.Device.Input); }
        return CodeOf(job, end, rig, bounded: length is not null || script is not null);
    }

    private static int CodeOf(RecordingJob job, RecordingEnd end, Rig rig, bool bounded)
    {
        var recorder = job.Recorder;
        if (recorder.Parts.Count == 0 || end.Cause is not (EndCause.Completed or EndCause.Stopped)) { return ExitCodes.Error; }
        // Without an end of its own, Ctrl-C is its end.
        if (end.Cause == EndCause.Stopped && !end.ByKey && bounded) { return ExitCodes.Interrupted; }
        bool doubtful = recorder.IncidentCount > 0 || recorder.Decoded.FramesBad > 0 || RecordingSummary.Rate(recorder)?.IsOff(rig.Device.Input.Rate) == true;
        return doubtful ? ExitCodes.Inconclusive : ExitCodes.Pass;
    }

    private static TimeSpan Length(string text)
    {
        TimeSpan length = Options.Duration("--for", text);
        return length > TimeSpan.Zero && length <= RecordingJob.Longest ? length : throw new UsageException($"--for: \"{text}\": expected more than 0 s, at most 24 h");
    }

    private static PromptSchedule Script(string path, Rig rig) => PromptSchedule.Of(ScenarioFile.Read(path, rig))
        ?? throw new UsageException($"--script {path}: has steps that are no prompts; expected a scenario made of prompts alone");

    private static RecordingInfo Info(ParseResult parsed, Rig rig, RecordingTarget target, DateTimeOffset now, bool scripted)
    {
        bool ask = !parsed.GetValue(s_yes) && KeyReader.HasTerminal;
        string? source = parsed.GetValue(s_source) ?? Asked(ask, "Who or what is recorded?");
        string? mounting = parsed.GetValue(s_mounting) ?? Asked(ask, "How is the device fixed, and where?");
        string? place = parsed.GetValue(s_place) ?? Asked(ask, "Where is the recording made?");
        var ranges = rig.Device.Input.Channels.Where(c => c.Name[0] == 'a').Select(c => c.Range).ToArray();
        string when = now.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss'Z'", CultureInfo.InvariantCulture);
        string where = place is null ? "" : $" at {place}";
        string labels = scripted
            ? "labels from a script, begun at the person's mark or a second after it was told"
            : "labels by key press, about 0.3 s after what was seen";
        return new()
        {
            RangeG = ranges.Length == 0 ? null : ranges.Min(),
            Source = source,
            Mounting = mounting,
            Provenance = $"recorded {when}{where} from rig {rig.Name} by HilRunner {Composition.Context.Version}; capture {target.CaptureName}; {labels}",
        };
    }

    private static string? Asked(bool ask, string question)
    {
        if (!ask) { return null; }
        Console.Error.Write($"{question} (Enter: leave out) ");
        return Console.In.ReadLine() is { } answer && answer.Trim() is { Length: > 0 } said ? said : null;
    }
}
