using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;

namespace HilRunner.Cli.Runs;

/// <summary>One run to be played.</summary>
internal sealed record BatchItem(SourceDocument Document, Scenario Scenario, string? Suite, int Repeat, ulong Seed);

/// <summary>All that a call of <c>hil run</c> is to play, in order.</summary>
/// <param name="Name">The suite's name, or the scenario's.</param>
internal sealed record Batch(string Name, IReadOnlyList<BatchItem> Items);
