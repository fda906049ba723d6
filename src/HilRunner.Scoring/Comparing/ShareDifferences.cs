using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Comparing;

/// <summary>Recognised or not, by class: McNemar's exact test on the trials that changed.</summary>
internal static class ShareDifferences
{
    public static IReadOnlyList<Difference> Of(IReadOnlyList<TrialPair> pairs)
    {
        var classes = pairs.GroupBy(p => (p.Output, p.Class)).OrderBy(g => g.Key.Output, StringComparer.Ordinal).ThenBy(g => g.Key.Class, StringComparer.Ordinal)
            .Select(g => (g.Key, Counts: g.CountBy(p => p.Change).ToDictionary())).ToList();
        var tests = classes.Select(c => McNemar.Test(c.Counts.GetValueOrDefault(TrialChange.Lost), c.Counts.GetValueOrDefault(TrialChange.Gained))).ToList();
        var adjusted = Family.Adjust([.. tests.Select((t, i) => (t.Exact, classes[i].Counts.GetValueOrDefault(TrialChange.Lost) + classes[i].Counts.GetValueOrDefault(TrialChange.Gained)))]);
        return [.. classes.Select((c, i) => Of(c.Key.Output, c.Key.Class, c.Counts, tests[i], adjusted[i]))];
    }

    private static Difference Of(string output, string name, Dictionary<TrialChange, int> counts, McNemar test, double p)
    {
        int Count(TrialChange change) => counts.GetValueOrDefault(change);
        int both = Count(TrialChange.Both), lost = Count(TrialChange.Lost), gained = Count(TrialChange.Gained), neither = Count(TrialChange.Neither);
        int n = both + lost + gained + neither;
        int fewest = McNemar.FewestThatShow(BuildComparison.Level);
        bool changed = p <= BuildComparison.Level;
        return new(Measure.Recognised, output, name)
        {
            Change = changed ? lost > gained ? Change.Worse : Change.Better : n < fewest ? Change.TooFew : Change.NoneShown,
            Pairs = n, Lost = lost, Gained = gained, Unsteady = Count(TrialChange.Unsteady), P = n == 0 ? null : p, MidP = n == 0 ? null : test.MidP,
            Shift = n == 0 ? null : (double)(gained - lost) / n,
            Interval = PairedShares.Difference(both, lost, gained, neither, 0.95),
            Smallest = PairedShares.SmallestChange(n, BuildComparison.Level),
            Why = n < fewest ? $"{n} steady trials: fewer than {fewest} can show no change" : "",
        };
    }
}
