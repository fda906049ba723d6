using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Comparing;

/// <summary>Latencies, chatter, false alarms: Wilcoxon's signed rank test of the paired differences, Hodges and Lehmann's shift with its interval.</summary>
internal static class ShiftDifferences
{
    public static IEnumerable<Difference> Latencies(IReadOnlyList<TrialPair> pairs, CompareTolerances tolerances) =>
    [
        .. Of(Measure.Reaction, tolerances.ReactionS, pairs, (t, _) => t.Already ? null : t.ReactionNs / 1e9).Select(d => tolerances.EarlierIsWorse ? EarlierIsWorse(d) : d),
        .. Of(Measure.ReportLatency, tolerances.ReportLatencyS, pairs, (t, run) => run.ReportKnown && !t.Already ? t.ReportLatencyNs / 1e9 : null),
    ];

    /// <summary>Changes of the observed class within a trial, by class.</summary>
    public static IEnumerable<Difference> Chatter(IReadOnlyList<TrialPair> pairs) => Of(Measure.ChatterPerMinute, 0, pairs, (t, _) => t.Chatter);

    /// <summary>False alarms of all event classes together, by scenario.</summary>
    public static IEnumerable<Difference> FalseAlarms(IReadOnlyList<ComparedRun> baseline, IReadOnlyList<ComparedRun> candidate)
    {
        var now = Alarms(candidate);
        var common = Alarms(baseline).Where(b => now.ContainsKey(b.Key)).ToList();
        return Tested([.. common.GroupBy(b => b.Key.Output).OrderBy(g => g.Key, StringComparer.Ordinal)
            .Select(g => (g.Key, (string?)null, (IReadOnlyList<double>)[.. g.Select(b => now[b.Key] - b.Value)]))], Measure.FalseAlarmsPerHour, 0);
    }

    private static Difference EarlierIsWorse(Difference d) => d.Change == Change.Better ? d with { Change = Change.Worse, Why = "earlier than before" } : d;

    private static IEnumerable<Difference> Of(Measure measure, double tolerance, IReadOnlyList<TrialPair> pairs, Func<TrialScore, ComparedRun, double?> figure)
    {
        var classes = pairs.GroupBy(p => (p.Output, p.Class)).OrderBy(g => g.Key.Output, StringComparer.Ordinal).ThenBy(g => g.Key.Class, StringComparer.Ordinal)
            .Select(g => (g.Key.Output, (string?)g.Key.Class, (IReadOnlyList<double>)[.. g.Select(p => p.Shift(figure)).OfType<double>()])).ToList();
        return Tested([.. classes.Where(c => c.Item3.Count > 0)], measure, tolerance);
    }

    private static IEnumerable<Difference> Tested(IReadOnlyList<(string Output, string? Class, IReadOnlyList<double> Shifts)> classes, Measure measure, double tolerance)
    {
        var adjusted = Family.Adjust([.. classes.Select(c => P(c.Shifts, tolerance))]);
        return classes.Select((c, i) => Of(measure, c.Output, c.Class, c.Shifts, adjusted[i], tolerance));
    }

    /// <summary>Beyond the tolerance, on whichever side: the better of the two one-sided questions, doubled.</summary>
    private static (double P, int Changed) P(IReadOnlyList<double> shifts, double tolerance)
    {
        var above = SignedRank.Test(shifts.Select(d => d - tolerance));
        var below = SignedRank.Test(shifts.Select(d => d + tolerance));
        static double Mean(SignedRank test) => test.N * (test.N + 1.0) / 4;
        double p = Math.Min(above.Sum > Mean(above) ? above.P : 1, below.Sum < Mean(below) ? below.P : 1);
        return (p, Math.Max(above.N, below.N));
    }

    private static Difference Of(Measure measure, string output, string? name, IReadOnlyList<double> shifts, double p, double tolerance)
    {
        var shift = HodgesLehmann.Paired(shifts, 0.95)!.Value;
        // The smallest p of n differences, all of one sign, is 2 · ½ⁿ as McNemar's.
        int fewest = McNemar.FewestThatShow(BuildComparison.Level);
        bool changed = p <= BuildComparison.Level;
        return new(measure, output, name)
        {
            Change = changed ? shift.Shift > 0 ? Change.Worse : Change.Better : shifts.Count < fewest ? Change.TooFew : Change.NoneShown,
            Pairs = shifts.Count, P = p, Shift = shift.Shift, Interval = shift.Interval,
            Why = shifts.Count < fewest ? $"{shifts.Count} pairs: fewer than {fewest} can show no shift" : tolerance > 0 ? $"beyond {Limits.LimitText.Number(tolerance)} s" : "",
        };
    }

    private static Dictionary<(string Scenario, string Motion, string Output), double> Alarms(IReadOnlyList<ComparedRun> runs) => runs
        .SelectMany(r => r.Outputs.Where(o => o.Events.Count > 0).Select(o => (Key: (r.Scenario, r.Motion, o.Output), Alarms: o.Events.Values.Sum(e => e.FalseAlarms))))
        .GroupBy(r => r.Key).ToDictionary(g => g.Key, g => g.Average(r => r.Alarms));
}
