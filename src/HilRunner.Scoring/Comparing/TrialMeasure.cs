using HilRunner.Core.Scenarios;
using HilRunner.Core.Statistics;
using HilRunner.Scoring.Limits;
using HilRunner.Scoring.Pooling;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Comparing;

/// <summary>
/// A figure of single trials, by class, asked in both ways (see <see cref="Basis"/>). All plays of a trial count: none is left
/// out for having come out otherwise than another.
/// </summary>
/// <param name="Tolerance">Shifts up to it are nobody's business, in the figure's unit.</param>
/// <param name="Figure">Of one play; null: it has none.</param>
internal sealed record TrialMeasure(Measure Measure, double Tolerance, Func<TrialScore, ComparedRun, double?> Figure)
{
    public static TrialMeasure Recognised { get; } = new(Measure.Recognised, 0, (t, _) => t.Recognised ? 1 : 0);

    /// <summary>Changes of the observed class within a trial.</summary>
    public static TrialMeasure Chatter { get; } = new(Measure.ChatterPerMinute, 0, (t, _) => t.Chatter);

    public static TrialMeasure Reaction(double tolerance) => new(Measure.Reaction, tolerance, (t, _) => t.Already ? null
        : t.ReactionNs / 1e9);

    public static TrialMeasure ReportLatency(double tolerance) =>
        new(Measure.ReportLatency, tolerance, (t, run) => run.ReportKnown && !t.Already ? t.ReportLatencyNs / 1e9 : null);

    private bool IsShare => Measure == Measure.Recognised;

    /// <summary>Trials of one class with a figure on both builds.</summary>
    /// <param name="Values">By trial of the class and run of its scenario.</param>
    private sealed record ClassTrials(
        string Output, string Class, IReadOnlyList<(SharedScenario Scenario, SharedTrial Trial, double?[] Values)> Values);

    /// <summary>An independent unit's trials of a class.</summary>
    /// <param name="Shift">Candidate less baseline, over equally many plays.</param>
    /// <param name="Before">Mean over all plays on the baseline.</param>
    /// <param name="Now">Mean over all plays on the candidate.</param>
    private readonly record struct UnitShift(double Shift, double Before, double Now);

    /// <param name="hang">See <see cref="SharedScenario.HangTogether"/>.</param>
    public IReadOnlyList<Difference> Of(IReadOnlyList<SharedScenario> scenarios, Lazy<bool> hang, int seed)
    {
        var classes = Classes(scenarios).ToList();
        var units = classes.Select(Units).ToList();
        var decided = Family.Decide([.. classes.Select((c, i) => Asked(c, [.. units[i].Select(u => u.Shift)], seed))], hang);
        return [.. classes.Select((c, i) => Of(c, units[i], decided[i], classes.Count, hang))];
    }

    private IEnumerable<ClassTrials> Classes(IReadOnlyList<SharedScenario> scenarios) => scenarios
        .SelectMany(s => s.Trials.Select(t => (Scenario: s, Trial: t, Values: Values(s, t))))
        .Where(t => IsOnBoth(t.Scenario, t.Values))
        .GroupBy(t => (t.Trial.Key.Output, t.Trial.Key.Class))
        .OrderBy(g => g.Key.Output, StringComparer.Ordinal).ThenBy(g => g.Key.Class, StringComparer.Ordinal)
        .Select(g => new ClassTrials(g.Key.Output, g.Key.Class, [.. g]));

    private double?[] Values(SharedScenario scenario, SharedTrial trial) =>
        [.. trial.Plays.Select((p, run) => p is null ? null : Figure(p, scenario.Runs[run]))];

    private static bool IsOnBoth(SharedScenario scenario, double?[] values) =>
        values.Take(scenario.Before).Any(v => v is not null) && values.Skip(scenario.Before).Any(v => v is not null);

    private Question Asked(ClassTrials trials, IReadOnlyList<double> units, int seed)
    {
        var scenarios = trials.Values.GroupBy(v => v.Scenario).ToList();
        ArrangementTest Exchange(double less) => RunPermutation.Test(
            [.. scenarios.Select(s => s.Key.Permuted(Shift([.. s.Select(v => Lowered(s.Key, v.Values, less))])))], seed);
        double atBest = RunPermutation.Least(scenarios.Select(s => (s.Key.Before, s.Key.Now)));
        // The least p of m units, all of one sign, is 2 · ½^m.
        double unitsAtBest = Math.Min(1, Math.ScaleB(2, -units.Count));
        if (Tolerance == 0)
        {
            var (runs, flips) = (Exchange(0), IsShare ? SignFlips.Test(units, seed) : default);
            return new(new(runs.P, runs.Least), atBest, IsShare ? new(flips.P, flips.Least) : Ranked(units), unitsAtBest);
        }
        // Beyond the tolerance, on whichever side: both one-sided questions, each with the candidate moved by it.
        var (above, below) = (Exchange(Tolerance), Exchange(-Tolerance));
        double p = ArrangementTest.Doubled(above.Above, below.Below), least = 2 * Math.Min(above.LeastOneSided,
            below.LeastOneSided);
        return new(new(p, Math.Min(1, least)), atBest, Ranked(units), unitsAtBest);
    }

    private Tested Ranked(IReadOnlyList<double> shifts)
    {
        var above = SignedRank.Test(shifts.Select(d => d - Tolerance));
        var below = SignedRank.Test(shifts.Select(d => d + Tolerance));
        static double Mean(SignedRank test) => test.N * (test.N + 1.0) / 4;
        double p = Math.Min(above.Sum > Mean(above) ? above.P : 1, below.Sum < Mean(below) ? below.P : 1);
        return new(p, Math.Min(1, Math.ScaleB(2, -Math.Max(above.N, below.N))));
    }

    private static double?[] Lowered(SharedScenario scenario, double?[] values, double less) =>
        less == 0 ? values : [.. values.Select((v, run) => run < scenario.Before ? v : v - less)];

    /// <summary>
    /// Sum over the trials of the candidate's mean less the baseline's, for a choice of runs; a trial with only one of them says
    /// nothing.
    /// </summary>
    private static Func<bool[], double> Shift(IReadOnlyList<double?[]> trials) => isNow =>
    {
        double sum = 0;
        foreach (double?[] values in trials) { sum += Difference(values, isNow, null) ?? 0; }
        return sum;
    };

    /// <param name="of">Runs that count; null: all.</param>
    private static double? Difference(double?[] values, bool[] isNow, bool[]? of)
    {
        double before = 0, now = 0;
        int runsBefore = 0, runsNow = 0;
        for (int run = 0; run < values.Length; run++)
        {
            if (values[run] is not { } value || of?[run] == false) { continue; }
            if (isNow[run]) { (now, runsNow) = (now + value, runsNow + 1); }
            else { (before, runsBefore) = (before + value, runsBefore + 1); }
        }
        return runsBefore == 0 || runsNow == 0 ? null : now / runsNow - before / runsBefore;
    }

    /// <summary>By independent unit: of a share the mean over its trials, of other figures the median.</summary>
    private IReadOnlyList<UnitShift> Units(ClassTrials trials)
    {
        var byTrial = new Dictionary<PlayedTrial, UnitShift>(ReferenceEqualityComparer.Instance);
        foreach (var (scenario, trial, values) in trials.Values)
        {
            bool[] isNow = scenario.AsPlayed;
            if ((IsShare ? Difference(values, isNow, scenario.Even) : Medians(values, isNow,
                scenario.Even)) is not { } shift) { continue; }
            byTrial[new(trials.Output, trial.Motion, trial.Plays.First(p => p is not null)!, null)] =
                new(shift, Mean(scenario, values, now: false), Mean(scenario, values, now: true));
        }
        return
        [
            .. TrialUnit.Of(byTrial.Keys).Select(u => u.Plays.Select(p => byTrial[p]).ToList()).Select(of => new UnitShift(
                IsShare ? of.Average(t => t.Shift) : Median([.. of.Select(t => t.Shift)]), of.Average(t => t.Before),
                    of.Average(t => t.Now))),
        ];
    }

    private static double Mean(SharedScenario scenario, double?[] values, bool now) => Of(scenario, values, now).Average();

    private static IEnumerable<double> Of(SharedScenario scenario, double?[] values, bool now) =>
        (now ? values.Skip(scenario.Before) : values.Take(scenario.Before)).OfType<double>();

    private static double? Medians(double?[] values, bool[] isNow, bool[] of)
    {
        List<double> Of(bool now) => [.. values.Where((v, run) => v is not null && isNow[run] == now && of[run]).Select(v =>
            v!.Value)];
        List<double> before = Of(false), after = Of(true);
        return before.Count == 0 || after.Count == 0 ? null : Median(after) - Median(before);
    }

    private static double Median(List<double> values)
    {
        values.Sort();
        return (values[(values.Count - 1) / 2] + values[values.Count / 2]) / 2;
    }

    private Difference Of(ClassTrials trials, IReadOnlyList<UnitShift> units, Decided decided, int classes, Lazy<bool> hang)
    {
        bool onePlay = trials.Values.All(v => v.Scenario is { Before: 1, Now: 1 });
        double[] shifts = [.. trials.Values.Select(v => Difference(v.Values, v.Scenario.AsPlayed, null)!.Value)];
        int lost = shifts.Count(s => s < 0), gained = shifts.Count(s => s > 0), n = shifts.Length;
        var (shift, interval) = IsShare ? ShiftOfShares(units) : ShiftOfMedians(units);
        // Less is worse of a share, more of all else. What was exchanged is the sum over the trials, so that its sign counts.
        double towards = decided.Basis == Basis.TheseRecordings ? shifts.Sum() : shift ?? 0;
        var scenarios = trials.Values.Select(v => v.Scenario).Distinct().ToList();
        return new(Measure, trials.Output, trials.Class)
        {
            Change = decided.Basis == Basis.None ? Change.TooFew : !decided.IsChanged ? Change.NoneShown
                : towards < 0 == IsShare ? Change.Worse : Change.Better,
            Basis = decided.Basis,
            Here = decided.Here,
            Beyond = decided.Beyond,
            HangsTogether = decided.Basis != Basis.TheseRecordings && hang.Value,
            SharesRuns = trials.Values.GroupBy(v => v.Scenario).Any(g => g.Count() > 1),
            RunsForHere = decided.Here.Least <= BuildComparison.Level / classes ? null : RunPermutation.RunsFor(scenarios.Count,
                BuildComparison.Level / classes),
            Pairs = n,
            Units = units.Count,
            Lost = IsShare ? lost : 0,
            Gained = IsShare ? gained : 0,
            Unsteady = IsShare ? trials.Values.Count(v => new[] { false, true }.Any(now => Of(v.Scenario, v.Values,
                now).Distinct().Count() > 1)) : 0,
            SteadyBefore = IsShare ? Steady(trials, now: false) : default,
            SteadyNow = IsShare ? Steady(trials, now: true) : default,
            ShareBefore = IsShare ? trials.Values.Average(v => Mean(v.Scenario, v.Values, now: false)) : null,
            ShareNow = IsShare ? trials.Values.Average(v => Mean(v.Scenario, v.Values, now: true)) : null,
            OnePlayEach = onePlay,
            P = decided.P,
            MidP = IsShare && onePlay && units.Count == n ? McNemar.Test(lost, gained).MidP : null,
            Shift = shift,
            Interval = interval,
            Smallest = IsShare ? Smallest(decided.Basis, scenarios, n, units.Count) : null,
            Why = decided.Basis == Basis.None ? TooFew(units.Count) : Tolerance > 0
                ? $"beyond {LimitText.Number(Tolerance)} s" : "",
        };
    }

    private static string TooFew(int units) =>
        $"{units} independent {(units == 1 ? "trial" : "trials")}: fewer than {McNemar.FewestThatShow(BuildComparison.Level)} can show no change";

    /// <summary>The smallest drop that could have been shown: as few trials as can show anything, lost in every play.</summary>
    private static double? Smallest(Basis basis, IReadOnlyList<SharedScenario> scenarios, int trials, int units)
    {
        if (basis == Basis.None) { return null; }
        if (basis == Basis.MotionLikeThis) { return PairedShares.SmallestChange(units, BuildComparison.Level); }
        // One trial in each of as few scenarios as it takes, those with the most runs first.
        var most = scenarios.Select(s => (s.Before, s.Now)).OrderBy(s => RunPermutation.Least([s])).ToList();
        for (int few = 1; few <= most.Count; few++)
        {
            if (RunPermutation.Least(most.Take(few)) <= BuildComparison.Level) { return (double)few / trials; }
        }
        return null;
    }

    private static (int Same, int Trials) Steady(ClassTrials trials, bool now)
    {
        var again = trials.Values.Select(v => Of(v.Scenario, v.Values, now).ToList()).Where(p => p.Count > 1).ToList();
        return (again.Count(p => p.Distinct().Count() == 1), again.Count);
    }

    private static (double? Shift, Interval? Interval) ShiftOfShares(IReadOnlyList<UnitShift> units)
    {
        if (units.Count == 0) { return (null, null); }
        // Of one play each these are whole numbers; of several, parts of them: the interval is that of so many units with one
        // play each.
        double both = units.Sum(u => Math.Min(u.Before, u.Now));
        double lost = units.Sum(u => Math.Max(0, u.Before - u.Now)), gained = units.Sum(u => Math.Max(0, u.Now - u.Before));
        return ((gained - lost) / units.Count,
            PairedShares.Difference(both, lost, gained, Math.Max(0, units.Count - both - lost - gained),
                BuildComparison.Confidence));
    }

    private static (double? Shift, Interval? Interval) ShiftOfMedians(IReadOnlyList<UnitShift> units) =>
        HodgesLehmann.Paired([.. units.Select(u => u.Shift)], BuildComparison.Confidence) is { } moved ? (moved.Shift,
            moved.Interval) : (null, null);
}
