using System.Text.Json;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Reporting;
using HilRunner.Reporting.Regions;
using HilRunner.Scoring;

namespace HilRunner.Cli.Screen;

/// <summary>
/// The end of <c>hil run</c>: a table of verdicts with what decided them, latencies and how they were timed, the verdict in words, the path
/// of the report last.
/// </summary>
internal static class ResultTable
{
    private static readonly JsonSerializerOptions s_json = new() { WriteIndented = true };

    public static void Print(SuiteResult result, IReadOnlyList<StoredRun> counted, string folder, bool json, bool quiet)
    {
        string report = Path.Combine(folder, Core.Runs.RunFiles.Report);
        var regions = VariedRegion.Of(result.Runs);
        if (json)
        {
            Terminal.Documents.WriteLine(JsonSerializer.Serialize(
                new
                {
                    schema = 1,
                    verdict = Verdicts.Word(result.Verdict),
                    reasons = result.Reasons,
                    delivery_not_shown = result.DeliveryNotShown,
                    report,
                    runs = result.Runs.Select(r => new
                    {
                        scenario = r.Scenario,
                        repeat = r.Repeat,
                        variation = r.Variation?.Values.ToDictionary(v => v.Parameter.Key, v => v.Parameter.Write(v.Value)),
                        verdict = Verdicts.Word(r.Verdict),
                        reasons = r.Reasons,
                        notes = r.Notes,
                        delivery = r.Delivery is { } delivery ? Core.Runs.Delivery.Word(delivery) : null,
                        played_again = r.PlayedAgain,
                        report = r.Report is null ? null : Path.Combine(folder, r.Report),
                    }),
                    baseline = result.Comparison is { } held ? new { name = held.Baseline, outcome = CompareWords.Of(held.Comparison.Overall), answer = CompareWords.Answer(held), page = Path.Combine(folder, result.ComparisonPage) } : null,
                    limits_over_all_trials = result.PooledLimits.Select(p => new
                    {
                        limit = p.Judged.Text,
                        output = p.Judged.Output,
                        outcome = Words.Of(p.Judged.Outcome),
                        why = p.Judged.Why,
                        shown = p.Shown is { } shown && double.IsFinite(shown) ? shown : (double?)null,
                        independent = p.Units,
                        independent_recognised = p.UnitsRecognised,
                        rule = p.Rule,
                        plays = p.Plays,
                        plays_recognised = p.PlaysRecognised,
                    }),
                    regions = regions.Select(region => new
                    {
                        scenario = region.Scenario,
                        output = region.Output,
                        edges = region.Lines.Select(line => new { parameter = line.Parameter.Key, recognised = line.Edge, passes = line.PassEdge }),
                    }),
                },
                s_json));
            return;
        }
        if (!quiet)
        {
            Terminal.Write(Table(result));
            PooledTable.Print(result.PooledLimits);
            RegionTable.Print(regions);
            Timing(counted);
            foreach (string note in DeliveryWords.Notes(result)) { Terminal.Line(note); }
        }
        if (!quiet && result.Comparison is { } since)
        {
            Terminal.Line($"since {since.Baseline}  {CompareWords.Of(since.Comparison.Overall)}: {CompareWords.Answer(since)}");
            Console.Out.WriteLine(Path.Combine(folder, result.ComparisonPage));
        }
        Terminal.Line(VerdictWord.Of(result.Verdict)
            + $": {result.Reasons[0]}{(DeliveryWords.Count(result) is { Length: > 0 } notShown ? $"; {notShown}" : "")}");
        Console.Out.WriteLine(report);
    }

    /// <summary>Latencies over all runs whose rig was healthy, for the others prove nothing; and how all of them were timed.</summary>
    private static void Timing(IReadOnlyList<StoredRun> counted)
    {
        var healthy = counted.Where(r => r.Score.Health.Faults.Count == 0).ToList();
        foreach (var output in healthy.SelectMany(r => r.Score.Outputs).GroupBy(o => o.Output, StringComparer.Ordinal))
        {
            LatencyTable.Print([.. output], output.Key);
        }
        TimingLines.Print(counted);
    }

    private static ScreenTable Table(SuiteResult result)
    {
        var table = new ScreenTable(wide: true);
        table.AddColumn("verdict", noWrap: true);
        table.AddColumn("scenario");
        table.AddColumn("decided by");
        foreach (var runs in result.Runs.GroupBy(r => r.Variation is { } v ? (v.Of, r.VariedFrom) : ((string, string)?)null))
        {
            if (runs.Key is { } varied) { AddVaried(table, varied.Item1, [.. runs]); continue; }
            foreach (var run in runs) { AddRun(table, run); }
        }
        return table;
    }

    private static void AddRun(ScreenTable table, SuiteRun run)
    {
        string again = run.PlayedAgain ? " (played again, not counted)" : "";
        string repeat = run.Repeat > 1 ? $" ({run.Repeat})" : "";
        table.AddRow(VerdictWord.Of(run.Verdict), run.Scenario + repeat + again, Decided(run));
    }

    /// <summary>One row for all variations of a scenario: there may be hundreds, and the region says more.</summary>
    private static void AddVaried(ScreenTable table, string scenario, IReadOnlyList<SuiteRun> runs)
    {
        var counted = runs.Where(r => !r.PlayedAgain).ToList();
        Verdict worst = Verdicts.Worst(counted.Select(r => r.Verdict));
        string others = string.Join(", ", counted.Where(r => r.Verdict != Verdict.Pass).GroupBy(r => r.Verdict).OrderByDescending(g => g.Key).Select(g => $"{Words.Of(g.Key)} in {g.Count()}"));
        string decided = others.Length == 0 ? $"every limit held in all {counted.Count}" : $"{others} of {counted.Count}; first: {counted.First(r => r.Verdict == worst).Scenario}";
        int notShown = counted.Count(r => r.Delivery == Core.Runs.DeliveryOutcome.NotShown);
        var lines = Styled.Lines(notShown > 0 ? [decided, $"delivery not shown in {notShown}"] : [decided]);
        table.AddRow(VerdictWord.Of(worst), $"{scenario} ({counted.Count} runs, varied)", lines);
    }

    /// <summary>The reasons of a run that did not pass; else its first limits with what was measured.</summary>
    private static Styled Decided(SuiteRun run) => Styled.Lines(
        (run.Verdict == Verdict.Pass ? run.Limits.Take(2).Select(Figures)
            : run.Reasons.Take(2)).Concat(run.Delivery == Core.Runs.DeliveryOutcome.NotShown ? ["delivery not shown"] : []));

    private static string Figures(LimitOutcome limit)
    {
        string what = string.Join(' ', new[] { Words.Of(limit.Limit.Measure), limit.Limit.Statistic?.ToString().ToLowerInvariant(), limit.Limit.Class }.Where(w => w is not null));
        string bound = (limit.Limit.AtLeast is null ? "≤ " : "≥ ") + Figure.Of(limit.Limit.Measure, limit.Bound);
        return $"{what} {Words.Measured(limit)} ({bound})";
    }
}
