using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Comparing;

/// <summary>Where the two played nothing in common: Fisher's exact test of the shares, Mann and Whitney's of the reactions. Repeats of a trial are one.</summary>
internal static class UnpairedDifferences
{
    public static IEnumerable<Difference> Shares(IReadOnlyList<ComparedRun> baseline, IReadOnlyList<ComparedRun> candidate)
    {
        var (before, now) = (Units(baseline), Units(candidate));
        var classes = before.Keys.Intersect(now.Keys).Order().ToList();
        var counts = classes.Select(c => (Before: before[c], Now: now[c])).ToList();
        double[] p = [.. counts.Select(c => FisherExact.Test(Share(c.Before), c.Before.Count, Share(c.Now), c.Now.Count)!.Value)];
        var adjusted = Holm.Adjust(p);
        return classes.Select((c, i) =>
        {
            double shift = (double)Share(counts[i].Now) / counts[i].Now.Count - (double)Share(counts[i].Before) / counts[i].Before.Count;
            int all = counts[i].Before.Count + counts[i].Now.Count;
            // With a and b trials nothing is rarer than all of one and none of the other.
            double least = FisherExact.Test(counts[i].Before.Count, counts[i].Before.Count, 0, counts[i].Now.Count)!.Value * classes.Count;
            return new Difference(Measure.Recognised, c.Output, c.Class)
            {
                Change = adjusted[i] <= BuildComparison.Level ? shift < 0 ? Change.Worse : Change.Better : least > BuildComparison.Level ? Change.TooFew : Change.NoneShown,
                Pairs = all, P = adjusted[i], Shift = shift, Why = $"not paired: {counts[i].Before.Count} and {counts[i].Now.Count} trials",
            };
        }).ToList();
    }

    public static IEnumerable<Difference> Reactions(IReadOnlyList<ComparedRun> baseline, IReadOnlyList<ComparedRun> candidate, CompareTolerances tolerances)
    {
        var (before, now) = (Units(baseline), Units(candidate));
        var classes = before.Keys.Intersect(now.Keys).Order().Select(c => (Key: c, Before: Times(before[c]), Now: Times(now[c]))).Where(c => c.Before.Count > 0 && c.Now.Count > 0).ToList();
        double[] p = [.. classes.Select(c => MannWhitney.Test(c.Before, c.Now).P!.Value)];
        var adjusted = Holm.Adjust(p);
        return classes.Select((c, i) =>
        {
            var shift = HodgesLehmann.Unpaired(c.Before, c.Now, 0.95)!.Value;
            bool changed = adjusted[i] <= BuildComparison.Level && Math.Abs(shift.Shift) > tolerances.ReactionS;
            return new Difference(Measure.Reaction, c.Key.Output, c.Key.Class)
            {
                Change = changed ? shift.Shift > 0 ? Change.Worse : Change.Better : shift.Interval is null ? Change.TooFew : Change.NoneShown,
                Pairs = c.Before.Count + c.Now.Count, P = adjusted[i], Shift = shift.Shift, Interval = shift.Interval, Why = $"not paired: {c.Before.Count} and {c.Now.Count} trials",
            };
        }).ToList();
    }

    private static Dictionary<(string Output, string Class), List<List<TrialScore>>> Units(IReadOnlyList<ComparedRun> runs) => runs
        .SelectMany(r => r.Outputs.SelectMany(o => o.Trials.Where(t => t.Counted).Select(t => (Key: (o.Output, t.Class), Unit: (r.Scenario, r.Motion, t.StartNs), Trial: t))))
        .GroupBy(t => t.Key).ToDictionary(g => g.Key, g => g.GroupBy(t => t.Unit).Select(u => u.Select(t => t.Trial).ToList()).ToList());

    /// <summary>A unit counts as most of its repeats do; half of them is not most.</summary>
    private static int Share(List<List<TrialScore>> units) => units.Count(u => 2 * u.Count(t => t.Recognised) > u.Count);

    private static List<double> Times(List<List<TrialScore>> units) =>
        [.. units.Where(u => u.All(t => t.ReactionNs is not null && !t.Already)).Select(u => u.Average(t => t.ReactionNs!.Value / 1e9))];
}
