using HilRunner.Core.Runs;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Cli.Runs;

/// <summary>From the runs of a batch to its verdict, its report and its JUnit XML.</summary>
internal static class BatchConclusion
{
    public static SuiteResult Conclude(
        Batch batch, BatchOutcome outcome, DateTimeOffset started, string folder, string? junit, BuildIdentity build)
    {
        var counted = outcome.Runs.Where(r => !r.PlayedAgain).Select(r => r.Run).ToArray();
        var suiteRuns = outcome.Runs.Select(r => SuiteRun.From(
            r.Run, Path.GetRelativePath(folder, Path.Combine(r.Run.Folder, RunFiles.Report)).Replace('\\', '/'), r.PlayedAgain)).ToArray();
        Verdict verdict = Verdicts.Worst(counted.Select(r => r.Score.Verdict));
        if (outcome.Interrupted && verdict < Verdict.Inconc) { verdict = Verdict.Inconc; }
        if (outcome.Trouble is not null) { verdict = Verdict.Error; }
        var result = new SuiteResult
        {
            Name = batch.Name,
            Verdict = verdict,
            Reasons = Reasons(batch, counted, verdict, outcome),
            Runs = suiteRuns,
            Started = started,
            Ended = outcome.Interrupted || outcome.Trouble is not null ? null : Composition.Clock.Provider.GetUtcNow(),
            Host = Environment.MachineName,
            ToolVersion = Composition.Version,
            Build = build,
        };
        using (var writer = new StreamWriter(Path.Combine(folder, RunFiles.Report))) { SuiteReport.Write(result, writer); }
        WriteJUnit(result, Path.Combine(folder, "junit.xml"));
        if (junit is not null) { WriteJUnit(result, junit); }
        return result;
    }

    private static void WriteJUnit(SuiteResult result, string path)
    {
        string? parent = Path.GetDirectoryName(Path.GetFullPath(path));
        if (parent is not null) { Directory.CreateDirectory(parent); }
        using var stream = File.Create(path);
        JUnitXml.Write(result, stream);
    }

    private static List<string> Reasons(Batch batch, StoredRun[] counted, Verdict verdict, BatchOutcome outcome)
    {
        var reasons = new List<string>();
        if (outcome.Trouble is { } trouble) { reasons.Add($"ended after {counted.Length} of {batch.Items.Count} runs: {trouble}"); }
        if (outcome.Interrupted) { reasons.Add($"interrupted after {counted.Length} of {batch.Items.Count} runs"); }
        if (counted.Length == 1 && verdict != Verdict.Pass) { return [.. reasons, .. counted[0].Score.Reasons]; }
        reasons.Add(verdict == Verdict.Pass
            ? counted.Length == 1 ? "every limit held" : $"every limit held in all {counted.Length} runs"
            : $"{Words.Of(verdict)} in {counted.Count(r => r.Score.Verdict == verdict)} of {counted.Length} runs");
        foreach (var run in counted.Where(r => r.Score.Verdict == verdict && verdict != Verdict.Pass && r.Score.Reasons.Count > 0))
        {
            reasons.Add($"{run.Manifest.ScenarioName}: {run.Score.Reasons[0]}");
        }
        return reasons;
    }
}
