using System.Globalization;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Statistics;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Comparing;

/// <summary>Counts of whole runs: false alarms of all event classes, resets and silences of the device.</summary>
internal static class RunMeasure
{
    /// <summary>What is counted by run hangs on no trial.</summary>
    private static readonly Lazy<bool> s_never = new(false);

    /// <summary>By output: run for run exchanged, and scenario by scenario held against each other.</summary>
    public static IReadOnlyList<Difference> FalseAlarms(IReadOnlyList<SharedScenario> scenarios, int seed)
    {
        string[] outputs = [.. scenarios.SelectMany(s => s.Runs).SelectMany(r => r.Outputs).Where(o => o.Events.Count > 0)
            .Select(o => o.Output).Distinct().Order(StringComparer.Ordinal)];
        var shifts = outputs.Select(o => scenarios.Select(s => Mean(s, s.AsPlayed, r => Alarms(r, o))).ToList()).ToList();
        var decided = Family.Decide([.. outputs.Select((o, i) => new Question(
            Exchanged(scenarios, r => Alarms(r, o), seed), AtBest(scenarios), Ranked(shifts[i]), Math.Min(1, Math.ScaleB(2,
                -shifts[i].Count))))], s_never);
        return
        [
            .. outputs.Select((o, i) =>
            {
                var moved = HodgesLehmann.Paired(shifts[i], BuildComparison.Confidence);
                return new Difference(Measure.FalseAlarmsPerHour, o, null)
                {
                    Change = decided[i].Basis == Basis.None ? Change.TooFew : !decided[i].IsChanged ? Change.NoneShown
                        : shifts[i].Sum() > 0 ? Change.Worse : Change.Better,
                    Basis = decided[i].Basis, Here = decided[i].Here, Beyond = decided[i].Beyond, P = decided[i].P,
                    Pairs = scenarios.Count, Units = scenarios.Count, Shift = moved?.Shift, Interval = moved?.Interval,
                };
            }),
        ];
    }

    /// <summary>
    /// Events of the device: exchanged run for run; where there are too few runs for that, all of both as one series of rare
    /// events, so many of which fall on each build's share of the time (Przyborowski, Wilenski, Biometrika 31:313–323, 1940).
    /// </summary>
    public static Difference OfDevice(Measure measure, IReadOnlyList<SharedScenario> scenarios, Func<ComparedRun, int> count,
        int seed)
    {
        ComparedRun[] before = [.. scenarios.SelectMany(s => s.Runs.Take(s.Before))], now = [.. scenarios.SelectMany(s =>
            s.Runs.Skip(s.Before))];
        int eventsBefore = before.Sum(count), eventsNow = now.Sum(count), events = eventsBefore + eventsNow;
        double seenBefore = before.Sum(r => r.SecondsSeen), seenNow = now.Sum(r => r.SecondsSeen);
        double share = seenBefore + seenNow > 0 ? seenNow / (seenBefore + seenNow)
            : (double)now.Length / (before.Length + now.Length);
        double p = ArrangementTest.Doubled(Binomial.AtLeast(eventsNow, events, share), Binomial.AtMost(eventsNow, events, share));
        double least = ArrangementTest.Doubled(Math.Pow(share, events), Math.Pow(1 - share, events));
        // Rare events have no number that is enough beforehand: so many as come.
        var decided = Family.Decide([new(Exchanged(scenarios, r => count(r), seed), AtBest(scenarios), new(p, least), 0)],
            s_never)[0];
        bool isMore = eventsNow * (1 - share) > eventsBefore * share;
        return new(measure, "", null)
        {
            Change = !decided.IsChanged ? Change.NoneShown : isMore ? Change.Worse : Change.Better,
            Basis = decided.Basis, Here = decided.Here, Beyond = decided.Beyond, P = decided.P,
            Pairs = before.Length + now.Length, Shift = eventsNow - eventsBefore, SharesRuns = true,
            RunsForHere = decided.Basis == Basis.TheseRecordings ? null : RunPermutation.RunsFor(scenarios.Count,
                BuildComparison.Level),
            Why = string.Create(CultureInfo.InvariantCulture,
                $"{eventsBefore} in {before.Length} runs before, {eventsNow} in {now.Length} now"),
        };
    }

    private static Tested Exchanged(IReadOnlyList<SharedScenario> scenarios, Func<ComparedRun, double> figure, int seed)
    {
        var test = RunPermutation.Test([.. scenarios.Select(s => s.Permuted(isNow => Mean(s, isNow, figure)))], seed);
        return new(test.P, test.Least);
    }

    private static double AtBest(IReadOnlyList<SharedScenario> scenarios) => RunPermutation.Least(scenarios.Select(s =>
        (s.Before, s.Now)));

    /// <summary>Mean over the runs that are taken to be the candidate's, less that over the others.</summary>
    private static double Mean(SharedScenario scenario, bool[] isNow, Func<ComparedRun, double> figure)
    {
        double before = 0, now = 0;
        for (int run = 0; run < isNow.Length; run++)
        {
            if (isNow[run]) { now += figure(scenario.Runs[run]); } else { before += figure(scenario.Runs[run]); }
        }
        return now / scenario.Now - before / scenario.Before;
    }

    private static Tested Ranked(List<double> shifts)
    {
        var test = SignedRank.Test(shifts);
        return new(test.P, Math.Min(1, Math.ScaleB(2, -test.N)));
    }

    private static double Alarms(ComparedRun run, string output) =>
        run.Outputs.Where(o => o.Output == output).Sum(o => o.Events.Values.Sum(e => e.FalseAlarms));
}
