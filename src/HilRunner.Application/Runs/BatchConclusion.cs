using HilRunner.Application.Accepting;
using HilRunner.Application.Batches;
using HilRunner.Application.Comparing;
using HilRunner.Application.Motions;
using HilRunner.Application.Stored;
using HilRunner.Core.Files;
using HilRunner.Core.Runs;
using HilRunner.Reporting;
using HilRunner.Scoring;
using HilRunner.Scoring.Comparing;
using HilRunner.Scoring.Pooling;
using HilRunner.Scoring.Trivial;

namespace HilRunner.Application.Runs;

/// <summary>From the runs of a batch to its verdict, its report and its JUnit XML.</summary>
internal static class BatchConclusion
{
    private const string ComparePage = "compare.html";

    /// <summary>Writes the report, the JUnit XML, the summary and the verdict into the folder.</summary>
    /// <param name="runs">Those that were played, in their order.</param>
    /// <param name="leave">Whether the adapter of a run that is held against may be started.</param>
    /// <param name="junit">Where the JUnit XML goes too; null: nowhere.</param>
    /// <param name="summary">Where the summary goes too.</param>
    public static SuiteResult Conclude(
        JobContext context, BatchRecord record, IReadOnlyList<(StoredRun Run, bool PlayedAgain)> runs,
        string folder, AdapterLeave leave, string? junit = null, string? summary = null)
    {
        var counted = runs.Where(r => !r.PlayedAgain).Select(r => r.Run).ToArray();
        var same = SameMotions.Stored(record.SameMotions, counted.Select(r => r.Manifest));
        var suiteRuns = runs.Select(r => SuiteRun.From(
            r.Run, Path.GetRelativePath(folder, Path.Combine(r.Run.Folder, RunFiles.Report)).Replace('\\', '/'), r.PlayedAgain))
            .Select(same.On).ToArray();
        var pooled = record.Shard is not null ? [] : PooledLimits.Judge(record.Suites, [.. runs.Select((r, i) =>
            PooledRun.Of((r.Run, suiteRuns[i])))]);
        string? undelivered = AskedDelivery.WhyOpen(folder, [.. runs.Select((r, i) => (r.Run, suiteRuns[i]))]);
        Verdict verdict = Verdicts.Worst(
            [.. counted.Select(r => r.Score.Verdict), .. pooled.Select(PooledLimits.Verdict),
                undelivered is null ? Verdict.None : Verdict.Inconc]);
        CompareResult? comparison = Compared(context, record, folder, leave);
        TrivialResult? trivial = Trivial(record, counted, same);
        if (comparison?.Comparison.Overall == Change.Worse) { verdict = Verdicts.Worst([verdict, Verdict.Fail]); }
        if (record.Ended is null && verdict < Verdict.Inconc) { verdict = Verdict.Inconc; }
        if (record.Trouble is not null) { verdict = Verdict.Error; }
        var result = new SuiteResult
        {
            Name = record.Name,
            Verdict = verdict,
            Reasons = [.. Worse(comparison), .. Reasons(record, counted, pooled, undelivered, verdict),
                .. Besides(record, folder, comparison, counted.Length), .. same.Told(), .. trivial is not null
                    && TrivialWords.Fooled(trivial) is { } fooled ? [fooled] : Array.Empty<string>()],
            Comparison = comparison,
            ComparisonPage = comparison is null ? "" : ComparePage,
            Runs = suiteRuns,
            PooledLimits = pooled,
            Trivial = trivial,
            WhyUndelivered = undelivered,
            Started = record.Started,
            Ended = record.Ended,
            EndedEarly = record.Enough,
            Host = record.Host,
            ToolVersion = record.ToolVersion,
            Build = record.Build,
        };
        string report = Path.Combine(folder, RunFiles.Report);
        AtomicFile.WriteText(report, writer => SuiteReport.Write(result, writer));
        Write(Path.Combine(folder, "junit.xml"), junit, path => AtomicFile.Write(path, stream => JUnitXml.Write(result, stream)));
        Write(Path.Combine(folder, "summary.txt"), summary, path => AtomicFile.WriteText(path, writer => SuiteSummary.Write(result, Path.GetFullPath(report), writer)));
        (record with { Verdict = verdict, Reason = result.Reasons[0] }).Write(folder);
        return result;
    }

    /// <summary>What devices that hear nothing would get for what was played.</summary>
    private static TrivialResult? Trivial(BatchRecord record, StoredRun[] counted, SameMotions same) => counted.Any(r =>
        r.Manifest.ByHand) ? null : TrivialCheck.Of(
        [.. counted.DistinctBy(r => (r.Manifest.Scenario.Sha256, r.Manifest.Suite, r.Manifest.HoldNs, r.End)).Select(r =>
            HeardRun.Of(r, same))],
        record.Suites, [.. counted.SelectMany(r => r.Score.Outputs).Select(o => o.Output).Distinct()]);

    /// <summary>Held against its baseline, with a page of its own; null where there is none, or where it is gone.</summary>
    private static CompareResult? Compared(JobContext context, BatchRecord record, string folder, AdapterLeave leave)
    {
        if (record.Baseline is not { } baseline || !Directory.Exists(Path.Combine(folder, baseline)) || Directory.GetDirectories(folder).Length == 0) { return null; }
        string page = Path.Combine(folder, ComparePage);
        string[] plays = [.. record.BaselineMore.Prepend(baseline).Select(b => Path.GetFullPath(Path.Combine(folder,
            b))).Where(Directory.Exists)];
        var result = BuildComparer.Compare(
            context, ComparedBuild.Read(context, baseline, plays), ComparedBuild.Read(context, folder, [folder]), page,
            leave);
        string name = BatchRecord.IsIn(Path.Combine(folder, baseline)) && BatchRecord.Read(Path.Combine(folder, baseline)).Build.Label is { } label ? label : Path.GetFileName(Path.TrimEndingDirectorySeparator(baseline));
        result = result with { Baseline = name, Candidate = record.Build.Label ?? Path.GetFileName(Path.TrimEndingDirectorySeparator(folder)) };
        BuildComparer.WritePage(result, page);
        return result;
    }

    private static IEnumerable<string> Worse(CompareResult? comparison)
    {
        if (comparison is { Comparison.Overall: Change.Worse }) { yield return $"worse than {comparison.Baseline}: {CompareWords.Answer(comparison)}"; }
    }

    private static IEnumerable<string> Besides(BatchRecord record, string folder, CompareResult? comparison, int counted)
    {
        if (record.Enough is { } enough) { yield return $"ended after {counted} of {record.Planned} runs, as planned: {enough}"; }
        if (record.Shard is { } part) { yield return $"part {part}: what is limited over all trials is judged when the parts are merged"; }
        if (record.NotCompared is { } why) { yield return why; }
        if (comparison is null && record.Baseline is { } gone && !Directory.Exists(Path.Combine(folder, gone))) { yield return $"the baseline {gone} is gone: not compared"; }
    }

    private static void Write(string path, string? too, Action<string> write)
    {
        write(path);
        if (too is null) { return; }
        if (Path.GetDirectoryName(Path.GetFullPath(too)) is { } parent) { PlainFile.CreateFolder(parent); }
        write(too);
    }

    private static List<string> Reasons(
        BatchRecord record, StoredRun[] counted, IReadOnlyList<PooledOutcome> pooled, string? undelivered, Verdict verdict)
    {
        var reasons = new List<string>();
        if (record.Trouble is { } trouble) { reasons.Add($"ended after {counted.Length} of {record.Planned} runs: {trouble}"); }
        else if (record.Ended is null) { reasons.Add($"interrupted after {counted.Length} of {record.Planned} runs"); }
        int alike = counted.Count(r => r.Score.Verdict == verdict);
        var deciding = pooled.Where(p => verdict != Verdict.Pass && PooledLimits.Verdict(p) == verdict).Select(p => $"{p.Judged.Text}: {p.Judged.Why}").ToList();
        if (verdict == Verdict.Inconc && undelivered is not null) { deciding.Add(undelivered); }
        // What was asked of all trials, or runs, together comes first where it decided, since no single run shows it.
        reasons.AddRange(deciding);
        if (alike == 0 && deciding.Count > 0) { return reasons; }
        if (counted.Length == 1 && verdict != Verdict.Pass) { return [.. reasons, .. counted[0].Score.Reasons]; }
        string all = counted.Length == 1 ? "every limit held" : $"every limit held in all {counted.Length} runs";
        reasons.Add(verdict == Verdict.Pass
            ? pooled.Count == 0 ? all : all + (pooled.Count == 1 ? ", and the one over all trials" : $", and {pooled.Count} over all trials")
            : $"{Words.Of(verdict)} in {alike} of {counted.Length} runs");
        if (verdict == Verdict.Pass) { return reasons; }
        // The variations of a scenario are one reason: there may be hundreds, and the region says more.
        foreach (var runs in counted.GroupBy(r => r.Manifest.Variation is { } v ? (v.Of, r.Manifest.Scenario.Sha256) : (r.Manifest.Id, "")))
        {
            var deciders = runs.Where(r => r.Score.Verdict == verdict && r.Score.Reasons.Count > 0).ToList();
            if (deciders.Count == 0) { continue; }
            string name = deciders[0].Manifest.ScenarioName;
            string where = deciders[0].Manifest.Variation is not { } varied ? name
                : $"{varied.Of}: {deciders.Count} of {runs.Count()} variations, the first at {(name.StartsWith(varied.Of + ", ", StringComparison.Ordinal) ? name[(varied.Of.Length + 2)..] : name)}";
            reasons.Add($"{where}: {deciders[0].Score.Reasons[0]}");
        }
        return reasons;
    }
}
