using HilRunner.Application.Batches;
using HilRunner.Application.Stored;
using HilRunner.Core.Files;
using HilRunner.Core;
using HilRunner.Reporting;

namespace HilRunner.Application.Runs;

/// <summary>The parts of a batch that several machines have played, under one verdict.</summary>
internal static class MergedBatch
{
    /// <summary>Writes report and JUnit XML into a folder of its own; the parts stay where they are, and are linked.</summary>
    /// <exception cref="BadInputException">They are no parts of one batch.</exception>
    public static SuiteResult Write(JobContext context, IReadOnlyList<string> parts, string folder, AdapterLeave leave)
    {
        var records = parts.Select(p => BatchRecord.IsIn(p) ? BatchRecord.Read(p) : throw new BadInputException([new(p, 0, 0, "no folder of a batch of runs", "one that hil run --shard made")])).ToList();
        var first = records[0];
        var faults = parts.Zip(records).Where(p => p.Second.Name != first.Name || p.Second.Build != first.Build)
            .Select(p => new Fault(p.First, 0, 0, $"{p.Second.Name}, build {p.Second.Build.Label ?? "not named"}", $"parts of {first.Name}, build {first.Build.Label ?? "not named"}, as in {parts[0]}")).ToList();
        int of = records.Select(r => r.Shard is { } s ? Shard.Parse(s).Of : 1).Max();
        var missing = Enumerable.Range(1, of).Select(n => new Shard(n, of).ToString()).Except(records.Select(r => r.Shard ?? "1/1")).ToList();
        if (records.Select(r => r.Shard).Distinct().Count() < records.Count) { faults.Add(new(parts[0], 0, 0, "a part that is given twice", "each part once")); }
        if (faults.Count > 0) { throw new BadInputException(faults); }
        PlainFile.CreateFolder(folder);
        var runs = new List<(StoredRun Run, bool PlayedAgain)>();
        foreach (string part in parts)
        {
            runs.AddRange(StoredBatch.Runs([.. RunFolders.In(part)
                .Select(f => RunConclusion.Review(context, f, leave).WithoutCurves())]));
        }
        var merged = first with
        {
            Planned = records.Sum(r => r.Planned),
            Started = records.Min(r => r.Started),
            Ended = records.All(r => r.Ended is not null) && missing.Count == 0 ? records.Max(r => r.Ended) : null,
            Trouble = missing.Count > 0 ? $"{string.Join(", ", missing)} not given" : records.Select(r => r.Trouble).FirstOrDefault(t => t is not null),
            Shard = null,
            Parts = [.. parts.Select(p => Path.GetRelativePath(folder, p))],
            Baseline = null,
            Plan = null,
        };
        return BatchConclusion.Conclude(context, merged, runs, folder, leave);
    }
}
