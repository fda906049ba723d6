using HilRunner.Cli.Runs;
using HilRunner.Core.Rigs;
using HilRunner.Core.Signals;
using HilRunner.Scoring;

namespace HilRunner.Cli.Planning;

/// <summary>What cannot count, told before anything is played: whether a trial counts depends on its length alone.</summary>
internal static class UncountedTrials
{
    /// <summary>Scenarios that are told one by one; of the others how many there are.</summary>
    private const int MostTold = 5;

    /// <summary>A sentence for each scenario and class of which some trials cannot count; moved by hand, nobody knows them before.</summary>
    public static IReadOnlyList<string> Notes(IReadOnlyList<BatchItem> items, Rig rig)
    {
        string[] notes = [.. items.Where(i => i.ByHand is null && i.Variation is null).DistinctBy(i => (i.Document.Path, i.HoldNs)).SelectMany(item =>
        {
            var stimulus = StimulusBuilder.Build(item.Scenario, item.Folder, rig.Device.Input, item.Seed);
            return TrialCounts.Of(stimulus.Reference, item.Scenario.Rules, stimulus.End)
                .SelectMany(c => c.Notes).Select(n => $"{item.Scenario.Name}: {n}");
        })];
        return notes.Length <= MostTold ? notes : [.. notes.Take(MostTold), $"{notes.Length - MostTold} more such classes: see each run's report"];
    }
}
