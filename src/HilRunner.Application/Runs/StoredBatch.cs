using HilRunner.Application.Batches;
using HilRunner.Application.Benches;
using HilRunner.Reporting;

namespace HilRunner.Application.Runs;

/// <summary>A batch from its folder.</summary>
internal static class StoredBatch
{
    /// <summary>
    /// Its runs in the order in which they were played. One that was cut off, or that its rig spoiled, and that a later run repeats was played again: it stays in the record, outside the verdict.
    /// </summary>
    public static IReadOnlyList<(StoredRun Run, bool PlayedAgain)> Runs(IReadOnlyList<StoredRun> inOrder)
    {
        var last = inOrder.Select((run, i) => (Key: RunKey.Of(run.Manifest), i)).GroupBy(r => r.Key).ToDictionary(g => g.Key, g => g.Max(r => r.i));
        return [.. inOrder.Select((run, i) => (run, IsToBePlayedAgain(run) && last[RunKey.Of(run.Manifest)] > i))];
    }

    /// <summary>It says nothing of the device, whatever there is of it: it did not reach its end, or its rig spoiled it.</summary>
    public static bool IsToBePlayedAgain(StoredRun run) => !run.Manifest.Complete || RigRecovery.Of(run) != Spoiled.No;
}
