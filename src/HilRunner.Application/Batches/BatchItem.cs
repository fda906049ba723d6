using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Engine.Prompting;
using HilRunner.Core.Scenarios.Varying;
using HilRunner.Reporting;

namespace HilRunner.Application.Batches;

/// <summary>One run to be played.</summary>
/// <param name="Scenario">As it is played: at the values of its variation.</param>
internal sealed record BatchItem(SourceDocument Document, Scenario Scenario, string? Suite, int Repeat, ulong Seed)
{
    /// <summary>Null: the scenario is played. Otherwise a person moves the device, and nothing is injected.</summary>
    public PromptSchedule? ByHand { get; } = PromptSchedule.Of(Scenario);

    /// <summary>Moves the device instead of a person, given the run's folder; null: whoever is told to.</summary>
    public Func<string, IMover>? Mover { get; init; }

    /// <summary>What the rig's table makes of it; null: it is injected, or moved by hand.</summary>
    public TableItem? OnTable { get; init; }

    /// <summary>In the batch, from 1; and of how many. A run that is played again keeps its place.</summary>
    public (int Number, int Of) Place { get; init; }

    /// <summary>What its suite or plan says in place of the scenario's own hold; null: nothing.</summary>
    public long? HoldNs { get; init; }

    /// <summary>Null: the scenario as it stands.</summary>
    public Variation? Variation { get; init; }

    /// <summary>What the paths in the scenario are relative to.</summary>
    public string Folder => Path.GetDirectoryName(Path.GetFullPath(Document.Path))!;
}

/// <summary>All that a call of <c>hil run</c> is to play, in order.</summary>
/// <param name="Name">The suite's name, or the scenario's.</param>
internal sealed record Batch(string Name, IReadOnlyList<BatchItem> Items)
{
    /// <summary>Of the suites among them that state limits.</summary>
    public IReadOnlyList<SuiteLimits> Suites { get; init; } = [];
}

/// <summary>What became of a batch. Every run that was started is in it.</summary>
/// <param name="Trouble">Why it ended early through a fault of the machine (a full disk, say); null: it did not.</param>
internal sealed record BatchOutcome(IReadOnlyList<(StoredRun Run, bool PlayedAgain)> Runs, bool Interrupted, string? Trouble)
{
    /// <summary>Why the rest need not be played, as the plan allows; null: all were, or it was broken off.</summary>
    public string? Enough { get; init; }
}
