using HilRunner.Core.Runs;
using HilRunner.Engine.Playing;
using HilRunner.Reporting;

namespace HilRunner.Cli.Runs;

/// <summary>A batch from its folder.</summary>
internal static class StoredBatch
{
    /// <summary>Its runs in the order in which they were played, each scored again. One that lost its link and was followed by the same run was played again.</summary>
    public static IReadOnlyList<(StoredRun Run, bool PlayedAgain)> Runs(IReadOnlyList<StoredRun> inOrder) =>
        [.. inOrder.Select((run, i) => (run, run.Manifest.EndCause is EndCause.LinkLost or EndCause.PlayerGone && i + 1 < inOrder.Count && IsSame(run.Manifest, inOrder[i + 1].Manifest)))];

    private static bool IsSame(RunManifest one, RunManifest other) =>
        one.ScenarioName == other.ScenarioName && one.Repeat == other.Repeat && one.Scenario.Path == other.Scenario.Path && one.Suite == other.Suite;
}
