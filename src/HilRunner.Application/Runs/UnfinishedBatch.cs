using HilRunner.Application.Accepting;
using HilRunner.Application.Batches;
using HilRunner.Application.Benches;
using HilRunner.Application.Stored;
using HilRunner.Core;
using HilRunner.Core.Runs;
using HilRunner.Reporting;

namespace HilRunner.Application.Runs;

/// <summary>A batch that did not reach its end, to be gone on with.</summary>
/// <param name="Runs">What it has, in the order in which it was played, each as it stands.</param>
/// <param name="Repeats">How often a run that its rig spoiled is played again.</param>
internal sealed record UnfinishedBatch(string Folder, BatchRecord Record, IReadOnlyList<StoredRun> Runs, int Repeats)
{
    /// <summary>Those that need not be played again: they reached their end, whatever the verdict.</summary>
    public IReadOnlySet<RunKey> Finished { get; } = Runs.GroupBy(r => RunKey.Of(r.Manifest))
        .Where(plays => plays.Any(r => !StoredBatch.IsToBePlayedAgain(r)) || (plays.Count(r => RigRecovery.Of(r) == Spoiled.Unhealthy) > Repeats)).Select(plays => plays.Key).ToHashSet();

    /// <summary>The number of the last run folder.</summary>
    public int LastNumber { get; } = Directory.EnumerateDirectories(Folder).Select(RunFolders.NumberOf).DefaultIfEmpty().Max();

    /// <summary>The newest batch under a folder that is to play exactly this and is not at its end; null: there is none.</summary>
    /// <param name="plan">See <see cref="RunKey.Digest"/>.</param>
    /// <param name="repeats">How often a run that its rig spoiled is played again.</param>
    /// <param name="leave">Of the rigs that this call names.</param>
    /// <exception cref="BadInputException">It is an acceptance whose plan was fixed under earlier definitions.</exception>
    public static UnfinishedBatch? Find(JobContext context, string root, string plan, int repeats, AdapterLeave leave)
    {
        if (!Directory.Exists(root)) { return null; }
        var found = RunFolders.Batches(root).Select(d => (Folder: d, Record: Readable(d)))
            .Where(b => b.Record is { Ended: null } && b.Record.Plan == plan).OrderByDescending(b => b.Record!.Started).FirstOrDefault();
        if (found.Record is null) { return null; }
        PlanLock.RefuseEarlier(found.Folder);
        return new(found.Folder, found.Record,
            [.. RunFolders.In(found.Folder).Select(f => Read(context, f, leave).WithoutCurves())], repeats);
    }

    /// <summary>The one that was cut off has no score, no report, or half of one: it stays in the record with what there is.</summary>
    private static StoredRun Read(JobContext context, string folder, AdapterLeave leave)
    {
        if (RunManifestFile.Read(Path.Combine(folder, RunFiles.Manifest)).Complete)
        {
            return RunConclusion.Review(context, folder, leave);
        }
        StoredRun run = RunConclusion.Conclude(context, folder, leave);
        RunConclusion.WriteReport(run);
        return run;
    }

    private static BatchRecord? Readable(string folder)
    {
        try { return BatchRecord.Read(folder); }
        catch (BadInputException) { return null; }
    }
}
