using System.CommandLine;
using HilRunner.Application.Batches;
using HilRunner.Application.Histories;
using HilRunner.Application.Planning;
using HilRunner.Application.Runs;
using HilRunner.Application.Tables;
using HilRunner.Application;
using HilRunner.Cli.Screen;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core.Shakers;
using HilRunner.Reporting;

namespace HilRunner.Cli.Commands;

/// <summary>The main job: plays scenarios and suites on a rig, scores, reports.</summary>
internal static class RunCommand
{
    private static readonly Argument<string[]> s_paths = new("path") { Description = "Scenario files, suite files, or folders of them.", Arity = ArgumentArity.OneOrMore };
    private static readonly Option<string[]> s_rig = new("--rig") { Description = "The rig file. Several, or a folder of them: scenarios are shared out over rigs of one kind.", Required = true };
    private static readonly Option<string?> s_link = new("--link") { Description = "Another link than the rig's: serial:PATH?baud=…, serial:usb:VID:PID, pty:PATH, tcp://HOST:PORT, process:PROGRAM …, builtin:lines?model=…" };
    private static readonly Option<string> s_speed = new("--speed") { Description = "real, max (as fast as the device gives credit), or a factor such as 4x. Default: max where the device gives credit, else real.", DefaultValueFactory = _ => "" };
    private static readonly Option<int?> s_repeat = new("--repeat") { Description = "How often each scenario is played." };
    private static readonly Option<ulong?> s_seed = new("--seed") { Description = "Seed for noise and order." };
    private static readonly Option<string> s_out = new("--out") { Description = "Folder for the runs.", DefaultValueFactory = _ => "runs" };
    private static readonly Option<string?> s_build = new("--build") { Description = "Label of the firmware build." };
    private static readonly Option<string?> s_image = new("--image") { Description = "File of the firmware image; its hash goes into the record." };
    private static readonly Option<string?> s_baseline = new("--baseline") { Description = "Compare with this build: the folder of its runs, its label or image hash, looked for under --out, or last-good: the newest that passed on another build. Worse is a fail." };
    private static readonly Option<string?> s_junit = new("--junit") { Description = "Also write JUnit XML to this file." };
    private static readonly Option<string?> s_summary = new("--summary") { Description = "Also write a few lines of plain text for a chat or a mail to this file." };
    private static readonly Option<bool> s_planOnly = new("--plan-only") { Description = "Play nothing: say how long it takes on which rig, from earlier runs, and whether the disk has room. Exit code 2 where it has not." };
    private static readonly Option<string?> s_shard = new("--shard") { Description = "Play one part of several, such as 2/5, for as many machines; hil report --merge puts them together." };
    private static readonly Option<bool> s_resume = new("--resume") { Description = "Go on with the newest batch that was cut off, if it is to play exactly this: what is finished stays." };
    private static readonly Option<bool> s_quiet = new("--quiet") { Description = "Print only the verdict and the path of the report." };
    private static readonly Option<bool> s_bell = new("--bell") { Description = "Moved by hand: ring the terminal's bell at each prompt." };
    private static readonly Option<bool> s_json = new("--json") { Description = "Print the result as JSON." };

    private static readonly Option<bool> s_shaker = new("--shaker") { Description = "Move the device on the rig's table instead of injecting samples. Read the cautions of README.md first." };
    private static readonly Option<string?> s_fit = new("--fit") { Description = "With --shaker, what leaves the table's envelope: scale makes it smaller, filter leaves its lowest frequencies out. Default: it is refused." };
    private static readonly Option<string?> s_model = new("--host-model") { Description = "With --shaker: the model file that the firmware runs, to say beforehand what it sees on the table. Default: that of the rig's virtual device." };

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
        { s_paths, s_rig, s_link, s_speed, s_repeat, s_seed, s_out, s_build, s_image, s_baseline, CommonOptions.History,
            s_shaker, s_fit, s_model, s_junit, s_summary, s_planOnly, s_shard, s_resume, s_bell, s_quiet, s_json };
        TableOptions.AddTo(command);
        command.SetAction(RunAsync);
        return command;
    }

    private static TableOrder? Table(ParseResult parsed)
    {
        var fit = parsed.GetValue(s_fit) switch
        {
            null => MotionFit.None,
            "scale" => MotionFit.Scale,
            "filter" => MotionFit.Filter,
            var other => throw new UsageException($"--fit {other}: expected scale or filter"),
        };
        bool answers = TableOptions.InterlockAnswers(parsed);
        if (parsed.GetValue(s_shaker)) { return new(!parsed.GetValue(s_planOnly), answers, fit, parsed.GetValue(s_model)); }
        return !answers && fit == MotionFit.None && parsed.GetValue(s_model) is null ? null
            : throw new UsageException($"{TableOptions.Name}, --fit and --host-model go with --shaker");
    }

    private static async Task<int> RunAsync(ParseResult parsed, CancellationToken stop)
    {
        if (parsed.GetValue(s_repeat) is < 1 or > 10_000) { throw new UsageException("--repeat: expected 1 to 10000"); }
        var order = new BatchOrder(parsed.GetValue(s_rig)!, parsed.GetValue(s_link), parsed.GetValue(s_speed)!, parsed.GetValue(s_out)!)
        {
            Build = parsed.GetValue(s_build), Image = parsed.GetValue(s_image), Baseline = parsed.GetValue(s_baseline), JUnit = parsed.GetValue(s_junit), Summary = parsed.GetValue(s_summary),
            History = HistoryBook.PlaceOf(parsed.GetValue(CommonOptions.History), parsed.GetValue(s_out)!),
            Shard = parsed.GetValue(s_shard) is { } part ? Shard.Parse(part) : null,
            Table = Table(parsed), Resume = parsed.GetValue(s_resume), Bell = parsed.GetValue(s_bell), Quiet = parsed.GetValue(s_quiet),
        };
        var job = BatchJob.Of(Composition.Context, order, rig =>
            BatchReader.Read(parsed.GetValue(s_paths)!, rig, parsed.GetValue(s_repeat), parsed.GetValue(s_seed)));
        bool json = parsed.GetValue(s_json);
        if (parsed.GetValue(s_planOnly) && order.Table is not null
            && !json) { TableWords.Tell(Composition.Context.Operator,
            [.. job.Batch.Items.Select(i => (i.Scenario.Name, i.OnTable!))]); }
        DateTimeOffset now = Composition.Context.Now;
        if (parsed.GetValue(s_planOnly))
        {
            var plan = NightPlan.Of(job, job.Batch.Items, order.History, order.Out);
            if (json) { NightPlanTable.PrintJson(plan, now); }
            else
            {
                NightPlanTable.Print(plan, now);
                foreach (string note in UncountedTrials.Notes(job.Batch.Items, job.Stimuli)) { Terminal.Line(note); }
                if (job.Trivial() is { } trivial) { Terminal.Line(TrivialWords.Fooled(trivial) ?? TrivialWords.NoneFooled(trivial)); }
            }
            return plan.Room.IsEnough ? ExitCodes.Pass : ExitCodes.Inconclusive;
        }
        void Begun(string folder, IReadOnlyList<BatchItem> left)
        {
            if (order.Quiet) { return; }
            foreach (string note in UncountedTrials.Notes(left, job.Stimuli)) { Console.Error.WriteLine(note); }
            if (left.Count > 1)
            {
                Console.Error.WriteLine(NightPlanTable.Line(NightPlan.Of(job, left, order.History, order.Out), now));
            }
        }
        var (result, outcome) = await RunScreen.PlayAsync(job, order.Quiet, Begun, stop).ConfigureAwait(false);
        ResultTable.Print(result, [.. outcome.Runs.Where(r => !r.PlayedAgain).Select(r => r.Run)], job.Folder, json, order.Quiet);
        return outcome.Interrupted ? ExitCodes.Interrupted : ExitCodes.Of(result.Verdict);
    }
}
