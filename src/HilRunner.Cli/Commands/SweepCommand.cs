using System.CommandLine;
using HilRunner.Application.Sweeping;
using HilRunner.Application;
using HilRunner.Cli.Screen;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Reporting;

namespace HilRunner.Cli.Commands;

/// <summary>Where the class switches, going up and going down.</summary>
internal static class SweepCommand
{
    private static readonly Argument<string> s_plan = new("plan") { Description = "The sweep plan; scenarios/README.md says how to write one." };
    private static readonly Option<string> s_rig = new("--rig") { Description = "The rig file.", Required = true };
    private static readonly Option<string?> s_output = new("--output") { Description = "Which output of the device, where it has several." };
    private static readonly Option<string?> s_link = new("--link") { Description = "Another link than the rig's, as for hil run." };
    private static readonly Option<string> s_speed = new("--speed") { Description = "real, max, or a factor such as 4x, as for hil run.", DefaultValueFactory = _ => "" };
    private static readonly Option<string> s_out = new("--out") { Description = "Folder for sweeps.", DefaultValueFactory = _ => "sweeps" };
    private static readonly Option<string?> s_build = new("--build") { Description = "Label of the firmware build." };
    private static readonly Option<string?> s_image = new("--image") { Description = "File of the firmware image." };
    private static readonly Option<bool> s_shaker = new("--shaker") { Description = "Move the device on the rig's table instead of injecting samples. Read the cautions of README.md first." };
    private static readonly Option<bool> s_quiet = new("--quiet") { Description = "Print only the verdict and the path of the page." };
    private static readonly Option<bool> s_json = new("--json") { Description = "Print the sweep as JSON." };

    public static Command Create()
    {
        var command = new Command(
            "sweep",
            """
            Plays a steady motion level after level, up and down again, and says at which level the device's class switches on
            the way up and on the way down, how wide the hysteresis between them is, each with its interval, and how sharply.
            Exit code as for hil run: 0 the plan's limits held, 1 one was broken, 2 not decided, or no limit given.

            Examples:
              hil sweep scenarios/sweeps/conveyed-level.yaml --rig rigs/virtual.yaml
              hil compare sweeps/20261125T020000Z-level sweeps/20261126T020000Z-level
            """)
        { s_plan, s_rig, s_output, s_link, s_speed, s_out, s_build, s_image, s_shaker, s_quiet, s_json };
        TableOptions.AddTo(command);
        command.SetAction(RunAsync);
        return command;
    }

    private static async Task<int> RunAsync(ParseResult parsed, CancellationToken stop)
    {
        bool json = parsed.GetValue(s_json), quiet = parsed.GetValue(s_quiet);
        var order = new SweepOrder(parsed.GetValue(s_plan)!, parsed.GetValue(s_rig)!, parsed.GetValue(s_out)!,
            parsed.GetValue(s_link), parsed.GetValue(s_speed)!, parsed.GetValue(s_output), parsed.GetValue(s_build),
            parsed.GetValue(s_image), quiet || json) { Shaker = parsed.GetValue(s_shaker),
            InterlockAnswers = TableOptions.InterlockAnswers(parsed) };
        if (order.InterlockAnswers && !order.Shaker) { throw new UsageException($"{TableOptions.Name} goes with --shaker"); }
        var job = SweepJob.Of(Composition.Context, order);
        using var screen = new RunScreen(order.Quiet, several: false, eachRun: false);
        try { await job.RunAsync(screen, stop).ConfigureAwait(false); }
        catch (OperationCanceledException)
        {
            SweepText.Print(job.Sweep, job.Folder, quiet);
            return ExitCodes.Interrupted;
        }
        if (json) { Terminal.Documents.Write(SweepJson.ToText(job.Sweep)); }
        else { SweepText.Print(job.Sweep, job.Folder, quiet); }
        return ExitCodes.Of(job.Sweep.Verdict);
    }
}
