using System.CommandLine;
using HilRunner.Cli.Comparing;
using HilRunner.Cli.Recorders;
using HilRunner.Cli.Runs;
using HilRunner.Cli.Screen;
using HilRunner.Core.Files;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Engine.Reviewing;
using HilRunner.Reporting;

namespace HilRunner.Cli.Commands;

/// <summary>The main job: plays scenarios and suites on a rig, scores, reports.</summary>
internal static class RunCommand
{
    private static readonly Argument<string[]> s_paths = new("path") { Description = "Scenario files, suite files, or folders of them.", Arity = ArgumentArity.OneOrMore };
    private static readonly Option<string> s_rig = new("--rig") { Description = "The rig file.", Required = true };
    private static readonly Option<string?> s_link = new("--link") { Description = "Another link than the rig's: serial:PATH?baud=…, serial:usb:VID:PID, pty:PATH, tcp://HOST:PORT, process:PROGRAM …, builtin:lines?model=…" };
    private static readonly Option<string> s_speed = new("--speed") { Description = "real, max (as fast as the device gives credit), or a factor such as 4x. Default: max where the device gives credit, else real.", DefaultValueFactory = _ => "" };
    private static readonly Option<int?> s_repeat = new("--repeat") { Description = "How often each scenario is played." };
    private static readonly Option<ulong?> s_seed = new("--seed") { Description = "Seed for noise and order." };
    private static readonly Option<string> s_out = new("--out") { Description = "Folder for the runs.", DefaultValueFactory = _ => "runs" };
    private static readonly Option<string?> s_build = new("--build") { Description = "Label of the firmware build." };
    private static readonly Option<string?> s_image = new("--image") { Description = "File of the firmware image; its hash goes into the record." };
    private static readonly Option<string?> s_baseline = new("--baseline") { Description = "Compare with this build: the folder of its runs, or its label or image hash, looked for under --out. Worse is a fail." };
    private static readonly Option<string?> s_junit = new("--junit") { Description = "Also write JUnit XML to this file." };
    private static readonly Option<bool> s_quiet = new("--quiet") { Description = "Print only the verdict and the path of the report." };
    private static readonly Option<bool> s_bell = new("--bell") { Description = "Moved by hand: ring the terminal's bell at each prompt." };
    private static readonly Option<bool> s_json = new("--json") { Description = "Print the result as JSON." };

    public static Command Create()
    {
        var command = new Command(
            "run",
            """
            Plays scenarios and suites on a rig, scores what the device says, writes a report.
            A scenario made of prompts is moved by hand: the terminal says what to do, SPACE marks when it is done.
            Exit code: 0 pass, 1 fail, 2 inconclusive, 3 error.

            Example:
              hil run scenarios/parcel --rig rigs/virtual.yaml
            """)
        { s_paths, s_rig, s_link, s_speed, s_repeat, s_seed, s_out, s_build, s_image, s_baseline, s_junit, s_bell, s_quiet, s_json };
        command.SetAction(RunAsync);
        return command;
    }

    private static async Task<int> RunAsync(ParseResult parsed, CancellationToken stop)
    {
        string rigPath = parsed.GetValue(s_rig)!;
        string? link = parsed.GetValue(s_link);
        if (parsed.GetValue(s_repeat) is < 1 or > 10_000) { throw new UsageException("--repeat: expected 1 to 10000"); }
        if (File.Exists(parsed.GetValue(s_out))) { throw new UsageException($"--out {parsed.GetValue(s_out)}: is a file; expected a folder, or a name that is free"); }
        if (parsed.GetValue(s_junit) is { } junit && (Directory.Exists(junit) || File.Exists(Path.GetDirectoryName(Path.GetFullPath(junit)))))
        {
            throw new UsageException($"--junit {junit}: cannot be a file; expected a path whose folder is, or can be made, a folder");
        }
        if (!File.Exists(rigPath)) { throw new Core.BadInputException([new(rigPath, 0, 0, Directory.Exists(rigPath) ? "a folder" : "no such file", "a rig file", "see rigs/README.md for how to write one")]); }
        string rigText = await File.ReadAllTextAsync(rigPath, stop).ConfigureAwait(false);
        var rig = Composition.WithLink(RigFile.Parse(rigText, rigPath), link);
        Batch batch = BatchReader.Read(parsed.GetValue(s_paths)!, rig, parsed.GetValue(s_repeat), parsed.GetValue(s_seed));
        string speed = SpeedFor(rig, parsed.GetValue(s_speed)!, batch);
        string? image = parsed.GetValue(s_image);
        if (image is not null && !File.Exists(image)) { throw new Core.BadInputException([new(image, 0, 0, "no such file", "the firmware image")]); }
        var build = new BuildIdentity(parsed.GetValue(s_build), image, image is null ? null : FileHash.Sha256(image));
        // Before anything is played: a baseline that is not there must not cost a night.
        string? baseline = parsed.GetValue(s_baseline) is { } reference ? ComparedBuild.FolderOf(reference, parsed.GetValue(s_out)!, batch.Name) : null;
        BatchReader.CheckStimuli(batch, rig);
        PrepareCommands.Run(rig.Prepare, image, stop);
        DateTimeOffset started = Composition.Clock.Provider.GetUtcNow();
        string folder = BatchFolder.Create(parsed.GetValue(s_out)!, started, batch.Name);
        var options = new BatchOptions(rig, new(rigPath, FileHash.Sha256OfText(rigText), rigText), link, speed, folder, build, parsed.GetValue(s_bell));
        var record = new BatchRecord(batch.Name, batch.Items.Count, started, null, null, Environment.MachineName, Composition.Version, build) { Suites = batch.Suites, Baseline = baseline is null ? null : Path.GetRelativePath(folder, baseline) };
        record.Write(folder);
        BatchOutcome outcome;
        SuiteResult result;
        using (var screen = new RunScreen(parsed.GetValue(s_quiet)))
        {
            using (var player = new BatchPlayer(options, screen)) { outcome = await player.PlayAsync(batch, stop).ConfigureAwait(false); }
            bool ended = !outcome.Interrupted && outcome.Trouble is null;
            record = record with { Ended = ended ? Composition.Clock.Provider.GetUtcNow() : null, Trouble = outcome.Trouble };
            record.Write(folder);
            // Before the screen is left, which a terminal that takes nothing can hold up.
            result = BatchConclusion.Conclude(record, outcome.Runs, folder, parsed.GetValue(s_junit));
        }
        ResultTable.Print(result, [.. outcome.Runs.Where(r => !r.PlayedAgain).Select(r => r.Run)], folder, parsed.GetValue(s_json), parsed.GetValue(s_quiet));
        return outcome.Interrupted ? ExitCodes.Interrupted : ExitCodes.Of(result.Verdict);
    }

    /// <summary>
    /// Where the speed is left open: max if the device gives credit or sets the pace itself, else real. What cannot be carried
    /// out or scored is refused here.
    /// </summary>
    private static string SpeedFor(Rig rig, string asked, Batch batch)
    {
        if (batch.Items.Any(i => i.ByHand is not null))
        {
            if (!KeyReader.HasTerminal)
            {
                throw new UsageException("a scenario made of prompts tells a person how to move the device and takes their keys: it needs a terminal, and cannot run unattended");
            }
            if (asked is not ("" or Speeds.Real)) { throw new UsageException($"--speed {asked}: a scenario made of prompts is moved by hand, in real time: leave --speed out"); }
            if (batch.Items.All(i => i.ByHand is not null)) { return Speeds.Real; }
        }
        bool takes = rig.Device.Says.Credit is not null || rig.Device.Pace == Pace.Device;
        string speed = asked.Length > 0 ? asked : takes ? Speeds.Max : Speeds.Real;
        decimal? factor;
        try { factor = Speeds.Factor(speed); }
        catch (FormatException fault) { throw new UsageException($"--speed: {fault.Message}"); }
        if (factor is null && !takes)
        {
            throw new UsageException("--speed max needs a device that gives credit (says.credit in the rig file) or sets the pace itself (pace: device): use real or a factor such as 4x");
        }
        if (factor is not null && rig.Device.Pace != Pace.Host)
        {
            throw new UsageException($"--speed {speed}: this rig says pace: {rig.Device.Pace.ToString().ToLowerInvariant()}, so the host cannot set one: use max, or pace: host");
        }
        if ((factor is null or > 1) && rig.Device.Says.Decisions.Any(d => !RigFormats.GivesSampleNumber(d.Message)))
        {
            throw new UsageException($"--speed {speed}: faster than real time needs decisions with a sample number (group or field n): use --speed real");
        }
        return speed;
    }
}
