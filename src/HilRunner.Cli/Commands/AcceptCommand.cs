using System.CommandLine;
using System.Text.Json;
using HilRunner.Application.Accepting;
using HilRunner.Application.Histories;
using HilRunner.Application.Motions;
using HilRunner.Application.Runs;
using HilRunner.Cli.Screen;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core;
using HilRunner.Core.Acceptance;
using HilRunner.Core.Files;
using HilRunner.Core.Runs;
using HilRunner.Reporting;
using HilRunner.Scoring;
using HilRunner.Scoring.Trivial;

namespace HilRunner.Cli.Commands;

/// <summary>Acceptance before a field trial: what a claim takes, the runs, the evidence.</summary>
internal static class AcceptCommand
{
    private static readonly Argument<string> s_plan = new("plan") { Description = "The acceptance plan." };
    private static readonly Option<string> s_rig = new("--rig") { Description = "The rig file.", Required = true };
    private static readonly Option<bool> s_resume = new("--resume") { Description = "Go on with the newest acceptance that was cut off, if it is to play exactly this plan: what is finished stays, and the evidence says so." };
    private static readonly Option<bool> s_planOnly = new("--plan-only") { Description = "Play nothing: say what the claims take, what the recordings give, and what to record." };
    private static readonly Option<string?> s_link = new("--link") { Description = "Another link than the rig's, as for hil run." };
    private static readonly Option<string> s_speed = new("--speed") { Description = "real, max, or a factor such as 4x, as for hil run.", DefaultValueFactory = _ => "" };
    private static readonly Option<string> s_out = new("--out") { Description = "Folder for the runs and the evidence.", DefaultValueFactory = _ => "runs" };
    private static readonly Option<string?> s_build = new("--build") { Description = "Label of the firmware build." };
    private static readonly Option<string?> s_image = new("--image") { Description = "File of the firmware image; its hash goes into the evidence." };
    private static readonly Option<bool> s_quiet = new("--quiet") { Description = "Print only the verdict and the path of the evidence." };
    private static readonly Option<bool> s_json = new("--json") { Description = "Print the result as JSON." };
    private static readonly JsonSerializerOptions s_style = new() { WriteIndented = true };

    public static Command Create()
    {
        var command = new Command(
            "accept",
            """
            Acceptance before a field trial. Says what the claims of a plan take and what its recordings give; plays them;
            writes evidence.html, which stands on its own. The plan is fixed before the first run.
            Exit code: 0 accepted, 1 not accepted, 2 open.

            Examples:
              hil accept scenarios/parcel/acceptance.yaml --rig rigs/virtual.yaml --plan-only
              hil accept scenarios/parcel/acceptance.yaml --rig rigs/virtual.yaml --build 1.5.0
            """)
        { s_plan, s_rig, s_planOnly, s_link, s_speed, s_out, s_build, s_image, CommonOptions.History, s_resume, s_quiet, s_json };
        command.SetAction(RunAsync);
        return command;
    }

    private static async Task<int> RunAsync(ParseResult parsed, CancellationToken stop)
    {
        string path = parsed.GetValue(s_plan)!;
        var plan = AcceptancePlanFile.Read(path);
        string text = await File.ReadAllTextAsync(path, stop).ConfigureAwait(false);
        var document = new SourceDocument(path, FileHash.Sha256OfText(text), text);
        bool json = parsed.GetValue(s_json), quiet = parsed.GetValue(s_quiet);
        var order = new BatchOrder([parsed.GetValue(s_rig)!], parsed.GetValue(s_link), parsed.GetValue(s_speed)!, parsed.GetValue(s_out)!)
        {
            Build = parsed.GetValue(s_build), Image = parsed.GetValue(s_image),
            History = HistoryBook.PlaceOf(parsed.GetValue(CommonOptions.History), parsed.GetValue(s_out)!), Quiet = quiet || json,
            Resume = parsed.GetValue(s_resume), PlanSha256 = document.Sha256,
        };
        var job = BatchJob.Of(Composition.Context, order, rig => BatchReader.Read(plan, rig));
        var claims = TrialPool.Of(job.Batch, job.Rig, job.Same, plan.Claims, out TimeSpan played);
        TrialPool.RefuseUnreachable(path, claims);
        var trivial = job.Trivial();
        if (!plan.HearingNothingIsAccepted) { RefuseFooled(path, trivial); }
        if (parsed.GetValue(s_planOnly))
        {
            if (json) { Terminal.Documents.WriteLine(JsonSerializer.Serialize(Json(claims, played, trivial, job.Same),
                s_style)); }
            else { PlanTable.Print(plan.Name, claims, job.Batch.Items.Count, played, job.Speed, trivial, job.Same); }
            return claims.All(c => c.CanBeShown) ? ExitCodes.Pass : ExitCodes.Inconclusive;
        }
        if (!json && !quiet) { PlanTable.Print(plan.Name, claims, job.Batch.Items.Count, played, job.Speed, trivial, job.Same); }
        var locked = PlanLock.Of(
            document, plan, job.Batch, job.On, job.Speed, job.Build, Composition.Context.Version);
        var (result, outcome) = await RunScreen.PlayAsync(
            job, order.Quiet, (folder, _) => Begin(locked, folder, order, plan.Name), stop).ConfigureAwait(false);
        string evidence = EvidenceFolder.Write(job.Folder, result, [.. outcome.Runs.Select(r => r.Run)]);
        if (json) { Terminal.Documents.WriteLine(JsonSerializer.Serialize(Json(result, plan.Delivery, evidence), s_style)); }
        else
        {
            if (!quiet)
            {
                PooledTable.Print(result.PooledLimits);
                foreach (string note in DeliveryWords.Notes(result)) { Console.Out.WriteLine(note); }
            }
            string notShown = result.Verdict == Verdict.Inconc ? "" : DeliveryWords.Count(result);
            Console.Out.WriteLine(
                $"{AcceptWords.Of(result.Verdict)}: {result.Reasons[0]}{(notShown.Length > 0 ? "; " + notShown : "")}");
            Console.Out.WriteLine(evidence);
        }
        return outcome.Interrupted ? ExitCodes.Interrupted : ExitCodes.Of(result.Verdict);
    }

    /// <summary>Fixes the plan, with what was tried before.</summary>
    private static void Begin(PlanLock locked, string folder, BatchOrder order, string plan)
    {
        var earlier = EarlierAttempts.Find(plan, locked.Build, order.Out, folder, order.History);
        if (earlier.Count > 0 && !order.Quiet) { Console.Error.WriteLine(AcceptWords.Attempt(earlier)); }
        (locked with { Earlier = earlier }).Write(folder);
    }

    /// <exception cref="BadInputException">A device that hears nothing would be accepted.</exception>
    private static void RefuseFooled(string path, TrivialResult? trivial)
    {
        if (trivial is not null && TrivialWords.Fooled(trivial) is { } fooled)
        {
            throw new BadInputException([new(path, 0, 0, fooled, "claims that a device can keep only by hearing what is played",
                "add it; or say hearing_nothing: accepted where it is meant so")]);
        }
    }

    private static object Json(IReadOnlyList<ClaimPlan> claims, TimeSpan played, TrivialResult? trivial, SameMotions same) => new
    {
        schema = 1,
        played_s = played.TotalSeconds,
        same_motions = same.Pairs.Select(p => new { first = p.First, second = p.Second, shift_s = p.ShiftNs / 1e9,
            overlap_s = p.OverlapNs / 1e9 }),
        hearing_nothing = trivial is null ? null : new
        {
            tried = trivial.Outcomes.Count,
            accepted = trivial.Outcomes.Count(o => o.IsAccepted),
            constant_accepted = trivial.Accepted(TrivialKind.Constant),
            cycling_accepted = trivial.Accepted(TrivialKind.Cycling),
            random_accepted = trivial.Accepted(TrivialKind.Random),
            missing = trivial.Fooling is { } fooling ? TrivialResult.Missing(fooling) : null,
        },
        claims = claims.Select(c => new
        {
            claim = c.Text,
            needed_by_failures = c.Needed,
            hours = c.Hours is not { } h ? null : new
            {
                needed_by_alarms = h.Needed.Select(n => double.IsFinite(n) ? n : (double?)null),
                given = h.Given,
            },
            independent = c.Units,
            sources = c.Sources,
            stretches = c.Stretches,
            shown_without_failure = c.Shown,
            can_be_shown = c.CanBeShown,
            cannot_count = c.Short,
            sequential = c.Sequential is not { } s ? null : new
            {
                good = s.Good, risk = s.Risk, most_trials = s.MostTrials,
                mean_trials_good = c.Test?.At(1 - s.Good).MeanTrials, mean_trials_at_claim = c.Test?.At(1 - c.Claim.AtLeast!.Value).MeanTrials,
            },
        }),
    };

    private static object Json(SuiteResult result, DeliveryRule delivery, string evidence) => new
    {
        schema = 1,
        outcome = AcceptWords.Of(result.Verdict),
        verdict = Verdicts.Word(result.Verdict),
        reasons = result.Reasons,
        delivery = new { not_shown_is_accepted = delivery == DeliveryRule.NotShownIsAccepted,
            runs = result.Runs.Count(r => r.Counts), not_shown = result.DeliveryNotShown },
        claims = result.PooledLimits.Select(p => new
        {
            claim = p.Judged.Text,
            outcome = Words.Of(p.Judged.Outcome),
            why = p.Judged.Why,
            independent = p.Units,
            independent_recognised = p.UnitsRecognised,
            heard = p.Heard is not { } h ? null : new
            {
                once_s = h.OnceNs / 1e9, alarms = h.Alarms, all_s = h.AllNs / 1e9, all_alarms = h.AllAlarms,
                    dispersion = h.Dispersion,
            },
            shown = p.Shown is { } shown && double.IsFinite(shown) ? shown : (double?)null,
        }),
        evidence,
    };
}
