using HilRunner.Application.Accepting;
using HilRunner.Application.Stored;
using HilRunner.Scoring;

namespace HilRunner.Application.Runs;

/// <summary>A batch that could go.</summary>
/// <param name="Kept">Why it stays all the same; null: it may go.</param>
internal sealed record PrunedBatch(string Folder, BatchRecord Record, long Bytes, string? Kept);

/// <summary>
/// Which old batches may go. Never one that others are held against, that is evidence, that is the newest or the last good of its name, or that did not reach its end as the newest of its
/// name: it may be gone on with.
/// </summary>
internal static class Pruning
{
    /// <param name="before">Those that began earlier; null: however old.</param>
    /// <param name="verdicts">Only these; empty: any.</param>
    /// <param name="mostBytes">Only as many, oldest first, as bring all batches under the folder down to this; null: all.</param>
    /// <returns>Oldest first: those that were asked for, and what becomes of each.</returns>
    public static IReadOnlyList<PrunedBatch> Plan(string root, DateTimeOffset? before, IReadOnlyList<Verdict> verdicts, long? mostBytes)
    {
        var all = RunFolders.Batches(root).Select(d => (Folder: Path.GetFullPath(d), Record: BatchRecord.Read(d)))
            .Where(b => b.Record.Parts.Count == 0).OrderBy(b => b.Record.Started).Select(b => (b.Folder, b.Record, Bytes: Size(b.Folder))).ToList();
        var newest = all.GroupBy(b => b.Record.Name, StringComparer.Ordinal).Select(g => g.Last().Folder).ToHashSet(StringComparer.Ordinal);
        var good = all.Where(b => b.Record is { Ended: not null, Verdict: Verdict.Pass }).GroupBy(b => b.Record.Name, StringComparer.Ordinal).Select(g => g.Last().Folder).ToHashSet(StringComparer.Ordinal);
        var asked = all.Where(b => (before is null || b.Record.Started < before) && (verdicts.Count == 0 || (b.Record.Verdict is { } v && verdicts.Contains(v)))).ToList();
        var plan = new List<PrunedBatch>();
        long left = all.Sum(b => b.Bytes);
        var going = new HashSet<string>(StringComparer.Ordinal);
        foreach (var batch in asked)
        {
            string? kept = newest.Contains(batch.Folder) ? "the newest of its name"
                : good.Contains(batch.Folder) ? "the last good build of its name"
                : PlanLock.IsIn(batch.Folder) ? "evidence of an acceptance"
                : null;
            if (kept is null && mostBytes is { } most && left <= most) { continue; }
            if (kept is null)
            {
                going.Add(batch.Folder);
                left -= batch.Bytes;
            }
            plan.Add(new(batch.Folder, batch.Record, batch.Bytes, kept));
        }
        // What others are held against stays with them: newest first, since a baseline is older than what is held against it.
        var baselines = new HashSet<string>(StringComparer.Ordinal);
        foreach (var batch in Enumerable.Reverse(all))
        {
            if (going.Contains(batch.Folder) && !baselines.Contains(batch.Folder)) { continue; }
            if (batch.Record.Baseline is { } baseline) { baselines.Add(Path.GetFullPath(Path.Combine(batch.Folder, baseline))); }
        }
        return [.. plan.Select(p => p.Kept is null && baselines.Contains(Path.TrimEndingDirectorySeparator(p.Folder)) ? p with { Kept = "others are held against it" } : p)];
    }

    private static long Size(string folder) =>
        new DirectoryInfo(folder).EnumerateFiles(
            "*", new EnumerationOptions { RecurseSubdirectories = true, AttributesToSkip = FileAttributes.ReparsePoint })
            .Sum(f => f.Length);
}
