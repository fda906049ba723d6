using HilRunner.Application.Stored;
using HilRunner.Core.Files;
using HilRunner.Core.Runs;
using HilRunner.Reporting;
using HilRunner.Scoring;
using HilRunner.Scoring.Comparing;

namespace HilRunner.Application.Comparing;

/// <summary>Compares two builds and finds the trials that show it.</summary>
internal static class BuildComparer
{
    private const int MostShown = 12;

    /// <param name="page">Where the page will stand: addresses are relative to its folder.</param>
    /// <param name="leave">Whether the adapter of a run that is drawn may be started.</param>
    public static CompareResult Compare(
        JobContext context, ComparedBuild baseline, ComparedBuild candidate, string page, AdapterLeave leave)
    {
        // What the candidate's suite says of shifts counts: it is the newer word.
        var comparison = BuildComparison.Of(baseline.Runs, candidate.Runs, candidate.Tolerances);
        var changed = comparison.Pairs.Where(p => p.Change is TrialChange.Lost or TrialChange.Gained or TrialChange.Unsteady || Late(p) > candidate.Tolerances.ReactionS)
            .OrderBy(p => p.Change switch { TrialChange.Lost => 0, TrialChange.Unsteady => 1, TrialChange.Gained => 2, _ => 3 }).ThenByDescending(Late).ToList();
        string folder = Path.GetDirectoryName(Path.GetFullPath(page))!;
        return new(baseline.Name, candidate.Name, comparison)
        {
            BaselineRuns = baseline.Runs.Count,
            CandidateRuns = candidate.Runs.Count,
            MoreOfBaseline = baseline.MorePlays,
            LeftOut = baseline.LeftOut + candidate.LeftOut,
            DeliveryNotShown = baseline.DeliveryNotShown + candidate.DeliveryNotShown,
            ScoredAgain = baseline.ScoredAgain + candidate.ScoredAgain,
            EarlierLeftOut = [.. baseline.Earlier, .. candidate.Earlier],
            Changed = [.. changed.Take(MostShown).Select(p => Shown(context, p, folder, leave))],
            ChangedMore = Math.Max(0, changed.Count - MostShown),
        };
    }

    public static void WritePage(CompareResult result, string page)
    {
        PlainFile.CreateFolder(Path.GetDirectoryName(Path.GetFullPath(page))!);
        AtomicFile.WriteText(page, writer => CompareReport.Write(result, writer));
    }

    private static double Late(TrialPair pair) => Math.Abs(pair.Shift((t, _) => t.Already ? null : t.ReactionNs / 1e9) ?? 0);

    /// <summary>A play of each build that shows the change: of an unsteady trial one that was missed.</summary>
    private static ChangedTrial Shown(JobContext context, TrialPair pair, string folder, AdapterLeave leave)
    {
        string before = Of(pair.Baseline, missed: pair.Change == TrialChange.Gained), now = Of(pair.Candidate, missed: pair.Change is TrialChange.Lost or TrialChange.Unsteady);
        return new(pair, RunConclusion.Review(context, before, leave),
            RunConclusion.Review(context, now, leave)) { BaselineReport = Address(before), CandidateReport = Address(now) };

        string Address(string run) => Path.GetRelativePath(folder, Path.Combine(run, RunFiles.Report)).Replace('\\', '/');
    }

    private static string Of(IReadOnlyList<(TrialScore Trial, ComparedRun Run)> plays, bool missed) =>
        (plays.FirstOrDefault(p => p.Trial.Recognised != missed).Run ?? plays[0].Run).Folder;
}
