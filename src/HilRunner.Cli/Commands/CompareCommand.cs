using System.CommandLine;
using System.Text.Json;
using HilRunner.Application.Comparing;
using HilRunner.Application.Stored;
using HilRunner.Cli.Screen;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core.Files;
using HilRunner.Reporting;
using HilRunner.Scoring.Comparing;

namespace HilRunner.Cli.Commands;

/// <summary>Two builds, trial by trial.</summary>
internal static class CompareCommand
{
    private static readonly Argument<string> s_baseline = new("baseline") { Description = "The folder of a run, of a batch of runs, or of a sweep; or the label of a build, or the first digits of its image's SHA-256." };
    private static readonly Argument<string> s_candidate = new("candidate") { Description = "Likewise." };
    private static readonly Option<string> s_runs = new("--runs") { Description = "Where the runs of builds are looked for.", DefaultValueFactory = _ => "runs" };
    private static readonly Option<string?> s_out = new("--out") { Description =
        "The page, or a folder for it. Without it: compare.html in the candidate's folder, or where the runs are." };
    private static readonly Option<bool> s_json = new("--json") { Description = "Print the result as JSON." };
    private static readonly JsonSerializerOptions s_style = new() { WriteIndented = true };

    public static Command Create()
    {
        var command = new Command(
            "compare",
            """
            Says whether the candidate is worse than the baseline, in which class or measure, and which trials show it.
            Runs of the same scenario and motion are held against each other; of a build that is named, all plays of its image
            count. Two questions: did it change on these recordings, beyond how it varies from run to run? Would it be otherwise
            on motion like this? The word rests on the first; where there are too few runs for it, on the second.
            Exit code: 0 not worse, 1 worse, 2 too few trials to tell.
            Of two sweeps it says which switching points moved: 0 none shown, 1 moved, 2 too few loops to tell.

            Examples:
              hil compare runs/20261125T020000Z-nightly runs/20261126T020000Z-nightly
              hil compare 1.4.2 1.5.0 --runs runs
            """)
        { s_baseline, s_candidate, s_runs, s_out, s_json };
        command.SetAction(Run);
        return command;
    }

    public static int ExitCodeOf(Change change) => change switch { Change.Worse => ExitCodes.Fail, Change.TooFew => ExitCodes.Inconclusive, _ => ExitCodes.Pass };

    private static int Run(ParseResult parsed)
    {
        string root = parsed.GetValue(s_runs)!, candidate = parsed.GetValue(s_candidate)!;
        if (SweepComparer.IsSweep(candidate) || SweepComparer.IsSweep(parsed.GetValue(s_baseline)!)) { return RunSweeps(parsed, candidate); }
        string page = Page(parsed, Directory.Exists(candidate) ? candidate : root);
        var (before, now) = ComparedBuild.Read(Composition.Context, parsed.GetValue(s_baseline)!, candidate, root);
        var result = BuildComparer.Compare(Composition.Context, before, now, page, AdapterLeave.None);
        BuildComparer.WritePage(result, page);
        if (parsed.GetValue(s_json)) { Terminal.Documents.WriteLine(JsonSerializer.Serialize(Json(result, page), s_style)); }
        else
        {
            CompareTable.Print(result);
            Console.Out.WriteLine(page);
        }
        return ExitCodeOf(result.Comparison.Overall);
    }

    /// <summary>Where --out names a folder, compare.html in it.</summary>
    private static string Page(ParseResult parsed, string usual) => parsed.GetValue(s_out) is { } said && !Directory.Exists(said)
        ? said : Path.Combine(parsed.GetValue(s_out) ?? usual, "compare.html");

    private static int RunSweeps(ParseResult parsed, string candidate)
    {
        var result = SweepComparer.Compare(parsed.GetValue(s_baseline)!, candidate);
        string page = Page(parsed, candidate);
        AtomicFile.WriteText(page, writer => SweepCompareReport.Write(result, writer));
        if (parsed.GetValue(s_json))
        {
            Terminal.Documents.WriteLine(JsonSerializer.Serialize(SweepComparer.Json(result, page), s_style));
        }
        else
        {
            SweepText.Print(result);
            Console.Out.WriteLine(page);
        }
        return result.AnyShifted ? ExitCodes.Fail : result.TooFew ? ExitCodes.Inconclusive : ExitCodes.Pass;
    }

    private static object Json(CompareResult result, string page) => new
    {
        schema = 1,
        outcome = CompareWords.Of(result.Comparison.Overall),
        answer = CompareWords.Answer(result),
        baseline = result.Baseline,
        candidate = result.Candidate,
        runs = new { baseline = result.BaselineRuns, candidate = result.CandidateRuns, left_out = result.LeftOut,
            delivery_not_shown = result.DeliveryNotShown, more_of_baseline = result.MoreOfBaseline,
            scored_again = result.ScoredAgain, earlier_left_out = result.EarlierLeftOut },
        paired = result.Comparison.Paired,
        pairs = result.Comparison.Pairs.Count,
        not_paired = result.Comparison.NotPaired,
        on_other_rigs = result.Comparison.OnOtherRigs,
        differences = result.Comparison.Differences.Select(d => new
        {
            measure = JsonNamingPolicy.SnakeCaseLower.ConvertName(d.Measure.ToString()),
            @class = d.Class,
            output = d.Output,
            outcome = CompareWords.Of(d.Change),
            trials = d.Pairs,
            lost = d.Lost,
            gained = d.Gained,
            independent = d.Units,
            unsteady = d.Unsteady,
            share_before = d.ShareBefore,
            share_now = d.ShareNow,
            steady = d.Measure != Core.Scenarios.Measure.Recognised ? null : new
            {
                before = new { same = d.SteadyBefore.Same, of = d.SteadyBefore.Trials },
                now = new { same = d.SteadyNow.Same, of = d.SteadyNow.Trials },
            },
            rests_on = d.Basis is { } basis ? CompareWords.Of(basis) : null,
            p = d.P,
            p_these_recordings = d.Here is { IsAble: true } here ? here.P : (double?)null,
            p_motion_like_this = d.Beyond is { IsAble: true } beyond ? beyond.P : (double?)null,
            runs_for_these_recordings = d.RunsForHere,
            mid_p = d.MidP,
            shift = d.Shift,
            low = d.Interval?.Low,
            high = d.Interval?.High,
            smallest_drop_shown = d.Smallest,
            why = d.Why,
        }),
        page,
    };
}
