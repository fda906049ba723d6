using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Comparing;

namespace HilRunner.Reporting.Tests;

/// <summary>Comparisons and evidences of invented runs.</summary>
internal static class OtherPages
{
    public static CompareResult Compared(StoredRun baseline, StoredRun candidate)
    {
        var comparison = BuildComparison.Of([Run(baseline)], [Run(candidate)], new CompareTolerances());
        var changed = comparison.Pairs.Where(p => p.Change is TrialChange.Lost or TrialChange.Gained).Take(4)
            .Select(p => new ChangedTrial(p, baseline, candidate) { BaselineReport = "../a/report.html", CandidateReport = "report.html" }).ToList();
        if (changed.Count == 0) { changed = [.. comparison.Pairs.Take(2).Select(p => new ChangedTrial(p, baseline, candidate))]; }
        return new("1.4.2", "1.5.0", comparison) { BaselineRuns = 1, CandidateRuns = 1, LeftOut = 1, Changed = changed, ChangedMore = 3 };
    }

    public static Evidence Accepted(SuiteResult result, IReadOnlyList<StoredRun> runs) => new()
    {
        Id = "20261125T020000Z-nightly / 0123456789ab",
        Plan = new() { Name = result.Name, Scenarios = ["a.yaml"], Claims = [], Item = runs[0].Manifest.RigName, Customer = result.Reasons[0] },
        PlanText = "acceptance: " + result.Name,
        PlanSha256 = new('9', 64),
        Result = result,
        Runs = runs,
        Files = [("plan", result.Name, new('1', 64)), ("capture", "001/link.pcapng", "")],
        Deviations = [result.Reasons[0]],
    };

    public static string Html(CompareResult result)
    {
        using var text = new StringWriter();
        CompareReport.Write(result, text);
        return text.ToString();
    }

    public static string Html(Evidence evidence)
    {
        using var text = new StringWriter();
        EvidenceReport.Write(evidence, text);
        return text.ToString();
    }

    private static ComparedRun Run(StoredRun run) => new()
    {
        Scenario = run.Manifest.ScenarioName, Motion = "m", Outputs = [.. run.Score.Outputs.Select(o => o with { Output = "" })], Device = run.Score.Device, ReportKnown = true,
    };
}
