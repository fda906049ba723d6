using HilRunner.Application.Stored;
using HilRunner.Core.Acceptance;
using HilRunner.Core.Files;
using HilRunner.Core.Runs;
using HilRunner.Reporting;
using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Application.Accepting;

/// <summary>Makes the evidence of an acceptance from what its folder holds: now, or again.</summary>
internal static class EvidenceFolder
{
    public const string FileName = "evidence.html";

    /// <returns>The path of the evidence.</returns>
    public static string Write(string folder, SuiteResult result, IReadOnlyList<StoredRun> runs)
    {
        var locked = PlanLock.Read(folder);
        string path = Path.Combine(folder, FileName);
        var evidence = new Evidence
        {
            Id = $"{Path.GetFileName(Path.TrimEndingDirectorySeparator(folder))} / {locked.Sha256[..12]}",
            Plan = AcceptancePlanFile.Parse(locked.Plan.Text, locked.Plan.Path, stored: true),
            PlanText = locked.Plan.Text,
            PlanSha256 = locked.Sha256,
            Result = result,
            Earlier = locked.Earlier,
            Runs = runs,
            Files =
            [
                ("plan", locked.Plan.Path, locked.Plan.Sha256), ("rig", locked.Rig.Path, locked.Rig.Sha256),
                .. locked.Build is { Image: { } image, Sha256: { } hash } ? new[] { ("image", image, hash) } : [],
                .. locked.Scenarios.Select(s => ("scenario", s.Path, s.Sha256)),
                .. locked.Recordings.Select(r => ("recording", r.Path, r.Sha256)),
                .. runs.Select(r => ("capture", Path.Combine(Path.GetFileName(r.Folder), RunFiles.Capture), Hash(Path.Combine(r.Folder, RunFiles.Capture)))),
            ],
            Deviations = [.. locked.Deviations([.. runs.Select(r => r.Manifest)], result.EndedEarly is not null),
                .. Own(locked, result, BatchRecord.Read(folder).Resumed)],
        };
        AtomicFile.WriteText(path, output => EvidenceReport.Write(evidence, output));
        return path;
    }

    private static IEnumerable<string> Own(PlanLock locked, SuiteResult result, IReadOnlyList<DateTimeOffset> resumed)
    {
        if (locked.IsOfEarlierDefinitions)
        {
            yield return $"The plan was fixed under earlier definitions ({locked.Definitions ?? 1}); what stands here was scored again from the captures by definitions {ScoreJson.Schema}.";
        }
        foreach (var at in resumed) { yield return $"Cut off, and gone on with at {Dates.Of(at)}; what was finished before stands."; }
        if (result.Ended is null) { yield return "The plan was not played to its end."; }
        foreach (var run in result.Runs.Where(r => r.PlayedAgain)) { yield return $"{run.Scenario}: played again, since {(run.Reasons.Count > 0 ? run.Reasons[0] : "its link was lost")}; both runs are listed, the first is not counted."; }
        foreach (var run in result.Runs.Where(r => !r.PlayedAgain && !r.Counts)) { yield return $"{run.Scenario}: not counted, since {(run.Reasons.Count > 0 ? run.Reasons[0] : "it proves nothing")}; it was not replaced."; }
    }

    private static string Hash(string path)
    {
        if (!PlainFile.IsThere(path)) { return ""; }
        using var file = PlainFile.OpenRead(path);
        return FileHash.Sha256(file);
    }
}
