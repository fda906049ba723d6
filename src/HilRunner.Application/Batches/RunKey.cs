using HilRunner.Core.Files;
using HilRunner.Core.Runs;

namespace HilRunner.Application.Batches;

/// <summary>What makes a stored run the one that a batch set out to play.</summary>
/// <param name="Scenario">Its name; of a varied scenario with the values.</param>
internal readonly record struct RunKey(string? Suite, string Sha256, string Scenario, int Repeat, ulong Seed)
{
    public static RunKey Of(BatchItem item) => new(item.Suite, item.Document.Sha256, item.Scenario.Name, item.Repeat, item.Seed);

    public static RunKey Of(RunManifest run) => new(run.Suite, run.Scenario.Sha256, run.ScenarioName, run.Repeat, run.Seed);

    /// <summary>Of all that a batch is to play, in order, and of what it is played with: a batch is gone on with only where nothing of it has changed.</summary>
    public static string Digest(Batch batch, IEnumerable<string> with) =>
        FileHash.Sha256OfText(string.Join('\n', with.Concat(
        batch.Items.Select(i => $"{Of(i)}{(i.HoldNs is { } hold ? $", hold {hold} ns" : "")}"))));
}
