using HilRunner.Application.Batches;
using HilRunner.Application.Benches;
using HilRunner.Application.Histories;
using HilRunner.Application.Runs;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.History;
using HilRunner.History.Reading;

namespace HilRunner.Application.Planning;

/// <summary>A scenario that takes its whole time, however fast the rig could be.</summary>
internal sealed record RealTimeOnly(string Scenario, string Why);

/// <summary>What one rig is to play, as far as is known beforehand.</summary>
/// <param name="Known">Runs whose time is known from earlier ones; the others are taken as long as their motion is in real time.</param>
internal sealed record PlannedRig(string Rig, int Runs, TimeSpan Takes, int Known);

/// <summary>A night before it starts: how long on which rig, from earlier runs where there are any.</summary>
internal sealed record NightPlan(string Name, string Speed, IReadOnlyList<PlannedRig> Rigs, IReadOnlyList<RealTimeOnly> RealTime, DiskRoom Room)
{
    public int Runs => Rigs.Sum(r => r.Runs);

    public int Known => Rigs.Sum(r => r.Known);

    /// <summary>Until the last rig is done; without the rigs' own preparing.</summary>
    public TimeSpan Takes => Rigs.Max(r => r.Takes);

    /// <param name="items">What is to be played, or what is left of it.</param>
    /// <param name="output">The folder of the batches.</param>
    public static NightPlan Of(BatchJob job, IReadOnlyList<BatchItem> items, HistoryPlace history, string output)
    {
        var durations = new RunDurations(Earlier(history), job.Speed);
        var done = job.RigNames.Select(name => new PlannedRig(name, 0, TimeSpan.Zero, 0)).ToArray();
        foreach (var item in items)
        {
            // As they share it out themselves: whichever is free first takes the next.
            int free = Enumerable.Range(0, done.Length).MinBy(i => done[i].Takes);
            TimeSpan? known = durations.Of(item.Scenario.Name, done[free].Rig);
            done[free] = done[free] with { Runs = done[free].Runs + 1, Takes = done[free].Takes + (known ?? Motion(item, job)),
                Known = done[free].Known + (known is null ? 0 : 1) };
        }
        return new(job.Batch.Name, job.Speed, done, RealTimeScenarios(items, job.Rig), DiskRoom.For(output, items.Count));
    }

    private static IReadOnlyList<RunDuration> Earlier(HistoryPlace place)
    {
        try
        {
            using var book = HistoryBook.Existing(place);
            return book is null ? [] : HistoryReader.Durations(book.Database);
        }
        catch (HistoryException) { return []; }
    }

    /// <summary>How long its motion lasts at the batch's speed; at max, in real time: no device has said yet how much faster it is. Variations of a scenario are taken as equally long.</summary>
    private static TimeSpan Motion(BatchItem item, BatchJob job)
    {
        if (item.ByHand is { } schedule) { return TimeSpan.FromTicks(schedule.End.Ns / 100); }
        return job.Stimuli[item.Document.Path].Length / (double)(Speeds.Factor(job.Speed) ?? 1);
    }

    private static List<RealTimeOnly> RealTimeScenarios(IReadOnlyList<BatchItem> items, Rig rig)
    {
        string? whole = rig.Device.Says.Credit is null && rig.Device.Pace == Pace.Host ? "the device gives no credit"
            : rig.Device.Says.Decisions.Any(d => !RigFormats.GivesSampleNumber(d.Message)) ? "the device's decisions carry no sample number"
            : null;
        return [.. items.Select(i => (Name: i.Variation?.Of ?? i.Scenario.Name, Why: i.ByHand is not null ? "a person moves it" : whole ?? (Limited(i.Scenario) ? "it limits the report latency, which is defined in real time alone" : null)))
            .Where(s => s.Why is not null).Distinct().Select(s => new RealTimeOnly(s.Name, s.Why!))];
    }

    private static bool Limited(Scenario scenario) => scenario.Rules.Limits.Any(l => l.Measure == Measure.ReportLatency);
}
