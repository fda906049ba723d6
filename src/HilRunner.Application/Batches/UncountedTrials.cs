using HilRunner.Application.Motions;
using HilRunner.Scoring;

namespace HilRunner.Application.Batches;

/// <summary>What cannot count, told before anything is played: whether a trial counts depends on its length alone.</summary>
internal static class UncountedTrials
{
    /// <summary>Scenarios that are told one by one; of the others how many there are.</summary>
    private const int MostTold = 5;

    /// <summary>A sentence for each scenario and class of which some trials cannot count; moved by hand, nobody knows them
    /// before.</summary>
    /// <param name="stimuli">By the path of the scenario.</param>
    public static IReadOnlyList<string> Notes(IReadOnlyList<BatchItem> items, IReadOnlyDictionary<string, StimulusFacts> stimuli)
    {
        string[] notes =
        [
            .. items.Where(i => i.ByHand is null && i.Variation is null).DistinctBy(i => (i.Document.Path, i.HoldNs))
                .Select(i => (i.Scenario, Stimulus: stimuli[i.Document.Path]))
                .SelectMany(i => TrialCounts.Of(i.Stimulus.Reference, i.Scenario.Rules, i.Stimulus.End)
                    .SelectMany(c => c.Notes).Select(n => $"{i.Scenario.Name}: {n}")),
        ];
        return notes.Length <= MostTold ? notes : [.. notes.Take(MostTold),
            $"{notes.Length - MostTold} more such classes: see each run's report"];
    }
}
