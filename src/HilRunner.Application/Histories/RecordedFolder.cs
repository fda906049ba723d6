using HilRunner.Application.Stored;
using HilRunner.Core;
using HilRunner.History;

namespace HilRunner.Application.Histories;

/// <summary>A batch as a history takes it in, from its folder and from nothing else.</summary>
internal static class RecordedFolder
{
    /// <exception cref="BadInputException">A file of it is missing or damaged.</exception>
    public static RecordedBatch Read(JobContext context, string folder)
    {
        var record = BatchRecord.Read(folder);
        return new()
        {
            Name = record.Name,
            Started = record.Started,
            Ended = record.Ended,
            Verdict = record.Verdict,
            Reason = record.Reason ?? "",
            Planned = record.Planned,
            Host = record.Host,
            ToolVersion = record.ToolVersion,
            Folder = Path.GetFullPath(folder),
            Build = record.Build,
            Runs = [.. RunFolders.In(folder).Select(f => Run(context, f))],
        };
    }

    private static RecordedRun Run(JobContext context, string folder)
    {
        var run = ScoredRun.Read(context, folder);
        var manifest = run.Manifest;
        return new()
        {
            Id = manifest.Id,
            Scenario = manifest.ScenarioName,
            Motion = run.Motion,
            Repeat = manifest.Repeat,
            Seed = manifest.Seed,
            Rig = manifest.RigName,
            Speed = manifest.Speed,
            Started = manifest.Started,
            Ended = manifest.Ended,
            DeviceImage = manifest.Identity.GetValueOrDefault("image"),
            Counts = run.Counts,
            Score = run.Score,
            StoredSchema = run.StoredSchema,
            WhyLeftOut = run.WhyLeftOut,
        };
    }
}
