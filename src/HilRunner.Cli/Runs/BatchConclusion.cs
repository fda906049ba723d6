using HilRunner.Core.Runs;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Cli.Runs;

/// <summary>From the runs of a batch to its verdict, its report and its JUnit XML.</summary>
internal static class BatchConclusion
{
    public static SuiteResult Conclude(
        Batch batch, IReadOnlyList<(StoredRun Run, bool PlayedAgain)> runs, DateTimeOffset started, string folder, string? junit,
        BuildIdentity build, bool interrupted)
    {
        var counted = runs.Where(r => !r.PlayedAgain).Select(r => r.Run).ToArray();
        var suiteRuns = runs.Select(r => SuiteRun.From(
            r.Run, Path.GetRelativePath(folder, Path.Combine(r.Run.Folder, RunFiles.Report)).Replace('\\', '/'), r.PlayedAgain)).ToArray();
        Verdict verdict = Verdicts.Worst(counted.Select(r => r.Score.Verdict));
        if (interrupted && verdict < Verdict.Inconc) { verdict = Verdict.Inconc; }
        var result = new SuiteResult
        {
            Name = batch.Name,
            Verdict = verdict,
            Reasons = Reasons(batch, counted, verdict, interrupted),
            Runs = suiteRuns,
            Started = started,
            Ended = interrupted ? null : Composition.Clock.Provider.GetUtcNow(),
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

    private static List<string> Reasons(Batch batch, StoredRun[] counted, Verdict verdict, bool interrupted)
    {
        var reasons = new List<string>();
        if (interrupted) { reasons.Add($"interrupted after {counted.Length} of {batch.Items.Count} runs"); }
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
