using System.CommandLine;
using HilRunner.Application.Runs;
using HilRunner.Application.Stored;
using HilRunner.Application;
using HilRunner.Cli.Screen;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core.Files;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Cli.Commands;

/// <summary>Scores stored runs again, or any log of decisions against any reference.</summary>
internal static class ScoreCommand
{
    private static readonly Argument<string[]> s_runs = new("run") { Description = "Folders of runs, or of batches of runs.", Arity = ArgumentArity.ZeroOrMore };
    private static readonly Option<string?> s_expected = new("--expected") { Description = "Reference timeline: start_s,end_s,class[,trial]." };
    private static readonly Option<string?> s_decisions = new("--decisions") { Description = "Decisions: t_s,class[,output …]." };
    private static readonly Option<string?> s_end = new("--end") { Description = "End of the stimulus, for instance 60s." };
    private static readonly Option<string?> s_grace = new("--grace") { Description = "Left out after each onset in the graced figures, for instance 1s." };
    private static readonly Option<string?> s_early = new("--early") { Description = "An event may be reported so much before its start, for instance 200ms." };
    private static readonly Option<string?> s_within = new("--within") { Description = "A class counts as recognised within this time, for instance 4s." };
    private static readonly Option<string?> s_hold = new("--hold") { Description =
        "A state counts as recognised only from where it holds this long, for instance 500ms." };
    private static readonly Option<string[]> s_events = new("--event") { Description = "A momentary class; may be given several times." };
    private static readonly Option<string?> s_limits = new("--limits") { Description = "A YAML file with limits, as in a scenario." };
    private static readonly Option<bool> s_write = new("--write") { Description =
        "With other limits or times for a stored run: replace its stored score. Without it the record of the night stays as it is." };
    private static readonly Option<bool> s_json = new("--json") { Description = "Print score.json." };

    public static Command Create()
    {
        var command = new Command(
            "score",
            """
            Scores stored runs again from their captures, or any log of decisions with no device.

            Examples:
              hil score runs/20261125T070000Z-parcel
              hil score runs/20261125T070000Z-parcel --within 2s --limits stricter.yaml
              hil score --expected expected.csv --decisions decisions.csv --end 60s --within 4s --json
            """)
        { s_runs, s_expected, s_decisions, s_end, s_grace, s_within, s_early, s_hold, s_events, s_limits, s_write, s_json,
            CommonOptions.RunAdapter };
        command.SetAction(Run);
        return command;
    }

    private static int Run(ParseResult parsed)
    {
        string[] runs = parsed.GetValue(s_runs)!;
        string? expected = parsed.GetValue(s_expected), decisions = parsed.GetValue(s_decisions), end = parsed.GetValue(s_end);
        bool log = expected is not null || decisions is not null;
        if (log == runs.Length > 0)
        {
            throw new UsageException("score: give folders of runs, or --expected, --decisions and --end together");
        }
        var leave = AdapterLeave.Of(parsed.GetValue(CommonOptions.RunAdapter));
        if (!log) { return ScoreRuns(runs, parsed.GetValue(s_json), leave, Other(parsed), parsed.GetValue(s_write)); }
        if (parsed.GetValue(s_write)) { throw new UsageException("score: --write goes with folders of runs"); }
        if (leave.Asked) { throw new UsageException("score: --run-adapter goes with folders of runs"); }
        if (expected is null || decisions is null || end is null)
        {
            throw new UsageException("score: --expected, --decisions and --end go together");
        }
        Score score = ScoreLog(parsed, expected, decisions);
        Show(score, parsed.GetValue(s_json), "");
        return ExitCodes.Of(score.Verdict);
    }

    /// <summary>Runs alone: each. Of a batch also what is judged over all of its runs, and its report.</summary>
    /// <param name="other">Judged by these; null: by what the scenarios say.</param>
    /// <param name="write">The stored scores are replaced by such ones.</param>
    private static int ScoreRuns(IReadOnlyList<string> paths, bool json, AdapterLeave leave, OtherRules? other, bool write)
    {
        if (write && other is null)
        {
            throw new UsageException("score: --write goes with --limits, --within, --grace, --hold, --event or --end");
        }
        var folders = RunFolders.Under(paths);
        var verdicts = new List<Verdict>();
        // Several scores make one JSON document, too: a list.
        bool list = json && folders.Count > 1;
        int shown = 0;
        foreach (string path in paths)
        {
            var batch = new List<StoredRun>();
            foreach (string folder in RunFolders.Under([path]))
            {
                var run = other is null || write
                    ? RunConclusion.Conclude(Composition.Context, folder, leave, other)
                        : RunConclusion.Review(Composition.Context, folder, leave, other);
                batch.Add(run.WithoutCurves());
                if (list) { Terminal.Documents.Write(shown == 0 ? "[\n" : ",\n"); }
                Show(run.Score, json, folder);
                if (!json) { TimingLines.Print([run]); }
                shown++;
            }
            // What stands of a night as a whole is not judged by rules of today.
            if (!BatchRecord.IsIn(path) || other is not null) { verdicts.AddRange(batch.Select(r => r.Score.Verdict)); continue; }
            var result = BatchConclusion.Conclude(Composition.Context, BatchRecord.Read(path), StoredBatch.Runs(batch), path,
                leave);
            verdicts.Add(result.Verdict);
            if (!json) { PooledTable.Print(result.PooledLimits); }
        }
        if (list) { Console.Out.WriteLine("]"); }
        return ExitCodes.Of(Verdicts.Worst(verdicts));
    }

    /// <summary>What the options say in place of the scenarios; null: nothing.</summary>
    private static OtherRules? Other(ParseResult parsed)
    {
        string? limits = parsed.GetValue(s_limits), within = parsed.GetValue(s_within), grace = parsed.GetValue(s_grace);
        string? hold = parsed.GetValue(s_hold), early = parsed.GetValue(s_early), end = parsed.GetValue(s_end);
        string[] events = parsed.GetValue(s_events) ?? [];
        (string Name, string? Value)[] said =
        [
            ("--limits", limits), ("--within", within), ("--grace", grace), ("--early", early), ("--hold", hold), ("--end", end),
            .. events.Select(e => ("--event", (string?)e)),
        ];
        string[] words = [.. said.Where(s => s.Value is not null).Select(s => $"{s.Name} {s.Value}")];
        if (words.Length == 0) { return null; }
        return new()
        {
            Limits = limits is null ? null : LimitsFile.Read(limits),
            WithinNs = within is null ? null : Options.DurationNs("--within", within),
            GraceNs = grace is null ? null : Options.DurationNs("--grace", grace),
            HoldNs = hold is null ? null : Options.DurationNs("--hold", hold),
            EarlyNs = early is null ? null : Options.DurationNs("--early", early),
            End = end is null ? null : new StimulusTime(Options.DurationNs("--end", end)),
            Events = events.Length == 0 ? null : events,
            Words = string.Join(" and ", words),
        };
    }

    private static Score ScoreLog(ParseResult parsed, string expected, string decisions)
    {
        foreach (string file in (string[])[expected, decisions]) { GivenFile.Check(file, "a CSV file"); }
        // The words of the command line before the files that it names.
        var asked = Other(parsed)!;
        var rules = asked.On(new());
        var rows = DecisionsFile.Read(decisions);
        var outputs = rows.Select(d => d.Output).Distinct().ToArray();
        return Scorer.Score(new ScoreInput
        {
            Reference = ExpectedFile.Read(expected),
            Decisions = rows,
            Outputs = outputs.Length == 0 ? [""] : outputs,
            End = asked.End!.Value,
            Rules = rules,
        });
    }

    private static void Show(Score score, bool json, string name)
    {
        if (json)
        {
            Terminal.Documents.Write(ScoreJson.ToText(score));
            return;
        }
        ScoreTable.Print(score, name);
    }
}
