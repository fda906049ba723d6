using System.CommandLine;
using System.Globalization;
using HilRunner.Application.Reproducing;
using HilRunner.Application;
using HilRunner.Cli.Importing;
using HilRunner.Cli.Screen;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core.Documents;
using HilRunner.Core.Recordings.Import;
using HilRunner.Reporting;
using HilRunner.Scoring.Isolating;

namespace HilRunner.Cli.Commands;

/// <summary>From a customer's log to a regression scenario.</summary>
internal static class ReproduceCommand
{
    private static readonly Argument<string> s_log = new("log") { Description = "The customer's log: delimited text, JSON Lines or Parquet." };
    private static readonly Option<string> s_rig = new("--rig") { Description = "The rig file.", Required = true };
    private static readonly Option<string?> s_at = new("--at") { Description = "The moment: 2026-03-02T12:31:07+01:00, 12:31:07, '754.2 s' after the log's start, '#37710' (sample), label:NAME. Without it: where the log's class column says something else than is expected." };
    private static readonly Option<string?> s_expected = new("--expected") { Description = "What the device should have said." };
    private static readonly Option<string?> s_reported = new("--reported") { Description = "What it is said to have said." };
    private static readonly Option<string> s_symptom = new("--symptom") { Description = "wrong-class, restart, silence, late or clock.", DefaultValueFactory = _ => "wrong-class" };
    private static readonly Option<string?> s_moreThan = new("--more-than") { Description = "With --symptom late: 500ms; clock: 500ppm." };
    private static readonly Option<string[]> s_event = new("--event") { Description = "A momentary class; a model file's own are known." };
    private static readonly Option<string?> s_output = new("--output") { Description = "Which output of the device, where it has several." };
    private static readonly Option<string?> s_map = new("--map") { Description = "A map file: what the log looks like. The options of hil import replace its keys." };
    private static readonly Option<string?> s_model = new("--host-model") { Description = "The model file that the firmware is said to run. Default: that of the rig file's virtual device." };
    private static readonly Option<string?> s_program = new("--host-program") { Description = "Instead: a program with its arguments that speaks as the device does, on stdin and stdout." };
    private static readonly Option<string[]> s_reference = new("--reference") { Description = "Recordings of the classes that are known to be right: the complaint's motion is held against them.", AllowMultipleArgumentsPerToken = true };
    private static readonly Option<int> s_plays = new("--plays") { Description = "How often it is played: every other time varied a little.", DefaultValueFactory = _ => 10 };
    private static readonly Option<string> s_around = new("--around") { Description = "What is said so long before and after the moment is judged.", DefaultValueFactory = _ => "500ms" };
    private static readonly Option<string?> s_runIn = new("--run-in") { Description = "Motion played before it. Default: as much as the outcome depends on." };
    private static readonly Option<ulong> s_seed = new("--seed") { Description = "Seed of the variations.", DefaultValueFactory = _ => 1 };
    private static readonly Option<bool> s_shrink = new("--shrink") { Description = "Find the shortest excerpt that still shows it, and simplify what is left." };
    private static readonly Option<double?> s_often = new("--often") { Description = "With --shrink: it must show in this share of the plays. Default: as often as the whole excerpt does." };
    private static readonly Option<string?> s_bisect = new("--bisect") { Description = "GOOD..BAD: find the first bad image between these two." };
    private static readonly Option<string?> s_images = new("--images") { Description = "With --bisect: a folder of images, or a file that lists them, oldest first." };
    private static readonly Option<string?> s_make = new("--make") { Description = "The list holds revisions, and this command builds an image of one: 'make-image {revision} {image}'." };
    private static readonly Option<double> s_confidence = new("--confidence") { Description = "Bisecting ends when the first bad image is this probable.", DefaultValueFactory = _ => 0.99 };
    private static readonly Option<int> s_mostPlays = new("--most-plays") { Description = "Plays for shrinking and bisecting together.", DefaultValueFactory = _ => 1000 };
    private static readonly Option<double> s_mostMinutes = new("--most-minutes") { Description = "Minutes for them.", DefaultValueFactory = _ => 120 };
    private static readonly Option<string?> s_link = new("--link") { Description = "Another link than the rig's, as for hil run." };
    private static readonly Option<string> s_speed = new("--speed") { Description = "real, max, or a factor such as 4x, as for hil run.", DefaultValueFactory = _ => "" };
    private static readonly Option<string> s_out = new("--out") { Description = "Folder for cases.", DefaultValueFactory = _ => "cases" };
    private static readonly Option<string?> s_name = new("--name") { Description = "Name of the case and of its scenario; without it the log's." };
    private static readonly Option<string?> s_build = new("--build") { Description = "Label of the firmware build." };
    private static readonly Option<string?> s_image = new("--image") { Description = "File of the firmware image that shows it." };
    private static readonly Option<bool> s_anonymise = new("--anonymise") { Description = "Keep no time of day, file name or free text of the log." };
    private static readonly Option<bool> s_internal = new("--internal") { Description = "The page also tells rig, builds, files and figures." };
    private static readonly Option<bool> s_resume = new("--resume") { Description = "Go on with a case that was cut off: what it asked by playing is not asked again." };
    private static readonly Option<bool> s_quiet = new("--quiet") { Description = "Print only the answer and the path of the page." };
    private static readonly Option<bool> s_json = new("--json") { Description = "Print the case as JSON." };

    public static Command Create()
    {
        var command = new Command(
            "reproduce",
            """
            From a customer's log to a regression scenario: cuts the complaint out, plays it several times, says whether it
            reproduces and whose fault it is, shrinks it, finds the first bad build, keeps it as a scenario with a page.
            Nothing leaves the machine. Exit code: 1 the device is at fault, 0 it is not (input fault), 2 not reproduced or
            rig fault.

            Examples:
              hil reproduce log.csv --rig rigs/virtual.yaml --at "754.2 s" --expected conveyed --reported carried
              hil reproduce log.csv --rig bench.yaml --at 2026-03-02T12:31:07+01:00 --expected conveyed --host-model
                model.yaml --shrink --bisect v1.4.0..v1.5.0 --images builds
            """)
        {
            s_log, s_rig, s_at, s_expected, s_reported, s_symptom, s_moreThan, s_event, s_output, s_model, s_program, s_reference, s_plays, s_around, s_runIn, s_seed, s_shrink, s_often, s_bisect, s_images, s_make,
            s_confidence, s_mostPlays, s_mostMinutes, s_link, s_speed, s_out, s_name, s_build, s_image, s_anonymise, s_internal, s_resume, s_quiet, s_json, s_map,
        };
        foreach (var option in MapOptions.All) { command.Add(option); }
        command.SetAction(RunAsync);
        return command;
    }

    private static async Task<int> RunAsync(ParseResult parsed, CancellationToken stop)
    {
        var symptom = Symptom.KindOf(parsed.GetValue(s_symptom)!);
        string? bisect = parsed.GetValue(s_bisect), images = parsed.GetValue(s_images), make = parsed.GetValue(s_make);
        if (bisect is null != images is null) { throw new UsageException("--bisect GOOD..BAD and --images go together"); }
        if (make is not null && bisect is null) { throw new UsageException("--make goes with --bisect and --images"); }
        if (parsed.GetValue(s_plays) is < 1 or > 1000) { throw new UsageException("--plays: expected 1 to 1000"); }
        if (parsed.GetValue(s_often) is <= 0 or > 1 or double.NaN) { throw new UsageException("--often: expected a share above 0, at most 1"); }
        if (parsed.GetValue(s_confidence) is not (> 0.5 and < 1)) { throw new UsageException("--confidence: expected more than 0.5, less than 1"); }
        if (parsed.GetValue(s_mostPlays) < 1 || parsed.GetValue(s_mostMinutes) is not (> 0 and < 100_000)) { throw new UsageException("--most-plays and --most-minutes: expected more than 0"); }
        if (parsed.GetValue(s_model) is not null && parsed.GetValue(s_program) is not null) { throw new UsageException("--host-model or --host-program: one of them"); }
        string log = parsed.GetValue(s_log)!;
        var order = new ReproduceOrder(log, ImportMapFile.Read(parsed.GetValue(s_map), MapOptions.Settings(parsed)), parsed.GetValue(s_rig)!, parsed.GetValue(s_out)!)
        {
            Name = parsed.GetValue(s_name) ?? (parsed.GetValue(s_anonymise) ? "complaint" : Path.GetFileNameWithoutExtension(log)), At = parsed.GetValue(s_at), Expected = parsed.GetValue(s_expected), Reported = parsed.GetValue(s_reported),
            Symptom = symptom, MoreThan = Symptom.Bound(symptom, parsed.GetValue(s_moreThan)), Events = parsed.GetValue(s_event) ?? [], Output = parsed.GetValue(s_output),
            Model = parsed.GetValue(s_model), Program = parsed.GetValue(s_program), References = parsed.GetValue(s_reference) ?? [], Plays = parsed.GetValue(s_plays),
            AroundNs = Duration("--around", parsed.GetValue(s_around)!), RunInNs = parsed.GetValue(s_runIn) is { } runIn ? Duration("--run-in", runIn) : null, Seed = parsed.GetValue(s_seed),
            Shrink = parsed.GetValue(s_shrink), Often = parsed.GetValue(s_often), Bisect = bisect, Images = images, Make = make, Confidence = parsed.GetValue(s_confidence),
            MostPlays = parsed.GetValue(s_mostPlays), MostTime = TimeSpan.FromMinutes(parsed.GetValue(s_mostMinutes)),
            Link = parsed.GetValue(s_link), Speed = parsed.GetValue(s_speed)!, Build = parsed.GetValue(s_build), Image = parsed.GetValue(s_image),
            Anonymise = parsed.GetValue(s_anonymise), Internal = parsed.GetValue(s_internal), Resume = parsed.GetValue(s_resume), Quiet = parsed.GetValue(s_quiet) || parsed.GetValue(s_json),
        };
        using var screen = new RunScreen(order.Quiet, several: false, eachRun: false);
        using var job = ReproduceJob.Of(Composition.Context, screen, order);
        try { await job.RunAsync(stop).ConfigureAwait(false); }
        catch (OperationCanceledException)
        {
            job.Save();
            Console.Error.WriteLine(string.Create(CultureInfo.InvariantCulture, $"hil: interrupted; what is known so far is in {job.Folder}; go on with the same command and --resume"));
            return ExitCodes.Interrupted;
        }
        if (parsed.GetValue(s_json)) { Terminal.Documents.Write(CaseJson.ToText(job.Case)); }
        else { CaseText.Print(job.Case, job.Folder, order.Quiet); }
        return job.Case.Culprit switch
        {
            Culprit.Input => ExitCodes.Pass,
            Culprit.Rig or Culprit.NotReproduced or null => ExitCodes.Inconclusive,
            _ => ExitCodes.Fail,
        };
    }

    private static long Duration(string option, string text)
    {
        try { return Quantity.DurationNs(text) is > 0 and var ns ? ns : throw new UsageException($"{option} {text}: expected more than 0"); }
        catch (FormatException fault) { throw new UsageException($"{option}: {fault.Message}"); }
    }
}
