using System.Globalization;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Statistics;
using HilRunner.Scoring.Limits;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Pooling;

/// <summary>
/// False alarms an hour, by the exact bound on a Poisson count over the time heard. A stretch of motion counts once, however
/// often it was played: for what is to be shown as the play with the most alarms for its length, against the limit as the
/// one with the fewest. Where the alarms hang together, more of them from few sources than chance puts there, the count is
/// divided by its dispersion first: what one person's walk sets off ten times is not ten findings. How well the
/// bound then holds stands in the README of this room.
/// </summary>
public static class AlarmJudge
{
    private const double NsPerHour = 3600e9;

    internal static PooledOutcome Judge(Limit limit, double confidence, List<HeardStretch> heard)
    {
        if (WhyUnknown(limit, heard) is { } unknown) { return PooledJudge.Outcome(limit, null, null, null, _ => unknown); }
        var plays = Plays(h => limit.Class is { } c ? h.Alarms!.GetValueOrDefault(c) : h.Alarms!.Values.Sum(), heard);
        var stretches = plays.GroupBy(p => p.Stretch).ToList();
        // Of plays without any alarm, or with as many for their length, the longest says most.
        var worst = Count.Of(Unit.Of(stretches.Select(s => s.MaxBy(p => (p.PerNs, p.HeardNs))!)));
        var best = Count.Of(Unit.Of(stretches.Select(s => s.MinBy(p => (p.PerNs, -p.HeardNs))!)));
        double high = worst.PerHour(PoissonBounds.Upper(worst.Alarms / worst.Factor, confidence));
        double low = best.PerHour(PoissonBounds.Lower(best.Alarms / best.Factor, confidence));
        long all = plays.Sum(p => p.HeardNs);
        int allAlarms = plays.Sum(p => p.Alarms);
        return PooledJudge.Outcome(limit, allAlarms * NsPerHour / all, low, high, Why) with
        {
            Units = worst.Units, Plays = plays.Count, Sources = worst.Sources,
            Heard = new(worst.Ns, worst.Alarms, all, allAlarms, worst.Factor),
        };

        string Why(Outcome ended)
        {
            var count = ended == Outcome.Broken ? best : worst;
            string alarms = count.Alarms == 1 ? "1 false alarm" : $"{LimitText.Number(count.Alarms)} false alarms";
            string asOne = LimitText.RoundedAway(count.Factor, up: true, decimals: 1);
            string hang = count.Factor == 1 ? ""
                : $", of which {asOne} count as one, since few of {count.Units} {(count.Sources > 0 ? "sources" : "stretches")} have most of them";
            string shows = ended == Outcome.Broken ? $"at least {LimitText.RoundedAway(low, up: false)}"
                : $"at most {LimitText.RoundedAway(high, up: true)}";
            return $"{alarms} in {Hours(count.Ns)} of motion, each stretch once{hang}: shows {shows} an hour at "
                + PooledJudge.Confidence(confidence) + (ended == Outcome.Open ? Missing(limit.AtMost!.Value, confidence, worst)
                    : "");
        }
    }

    private static string? WhyUnknown(Limit limit, List<HeardStretch> heard) => heard switch
    {
        _ when heard.All(h => h.HeardNs <= 0) => "nothing was played",
        _ when heard.Any(h => h.Alarms is null) =>
            "a run's score does not say when its false alarms came: score the runs again (hil score --write)",
        _ when limit.Class is { } name && !heard.Any(h => h.Alarms!.ContainsKey(name)) =>
            $"{name} is no event of what was played",
        _ => heard.All(h => h.Alarms!.Count == 0) ? "no scenario has events" : null,
    };

    /// <summary>Hours of different motion that a claim takes, where so many false alarms come in them.</summary>
    /// <exception cref="ArgumentOutOfRangeException">The confidence is not above 0 and below 1.</exception>
    public static double HoursFor(double mostPerHour, double confidence, double alarms) =>
        mostPerHour > 0 ? PoissonBounds.Upper(alarms, confidence) / mostPerHour : double.PositiveInfinity;

    /// <summary>What a device hears of these, each stretch once, in its longest play.</summary>
    /// <returns>Sources, and stretches without one; sources; stretches; ns of motion.</returns>
    public static (int Units, int Sources, int Stretches, long Ns) HeardIn(IReadOnlyList<HeardStretch> heard)
    {
        var stretches = Plays(_ => 0, heard).GroupBy(p => p.Stretch).Select(s => s.MaxBy(p => p.HeardNs)!).ToList();
        var units = Unit.Of(stretches);
        return (units.Count, units.Count(u => u.Source is not null), stretches.Count, units.Sum(u => u.HeardNs));
    }

    private static string Missing(double most, double confidence, Count count)
    {
        double needed = HoursFor(most, confidence, count.Alarms / count.Factor) * count.Factor;
        if (!double.IsFinite(needed)) { return "; no time shows that there are none at all"; }
        return count.PerHour(count.Alarms / count.Factor) > most ? ""
            : $"; {LimitText.RoundedAway(needed, up: true, decimals: needed < 10 ? 2 : 0)} h with no more of them would do";
    }

    /// <summary>"3.4 h", or seconds where it is less than a tenth of an hour.</summary>
    public static string Hours(long ns) => ns < NsPerHour / 10
        ? (ns / 1e9).ToString("0.#", CultureInfo.InvariantCulture) + " s"
        : (ns / NsPerHour).ToString(ns < 10 * NsPerHour ? "0.##" : "0", CultureInfo.InvariantCulture) + " h";

    /// <summary>What is counted: so many alarms in so long, so many of them counting as one.</summary>
    private sealed record Count(int Units, int Sources, long Ns, int Alarms, double Factor)
    {
        public static Count Of(IReadOnlyList<Unit> units) => new(units.Count, units.Count(u => u.Source is not null),
            units.Sum(u => u.HeardNs), units.Sum(u => u.Alarms),
            Dispersion.Factor([.. units.Select(u => u.Alarms)], [.. units.Select(u => (double)u.HeardNs)]));

        /// <summary>So many independent alarms, in alarms an hour.</summary>
        public double PerHour(double independent) => independent * Factor * NsPerHour / Ns;
    }

    /// <summary>One stretch as it was played once: pieces of it that follow each other are one play.</summary>
    private sealed record Play(int Stretch, string? Source, string Key, long HeardNs, int Alarms)
    {
        public double PerNs => (double)Alarms / HeardNs;
    }

    private static List<Play> Plays(Func<HeardStretch, int> alarms, IReadOnlyList<HeardStretch> heard)
    {
        int[] numbers = Stretches.Numbers([.. heard.Select(h => h.Motion)]);
        return
        [
            .. heard.Select((h, i) => new Play(numbers[i], h.Motion.Source, h.Motion.SourceKey ?? $"\n{numbers[i]}", h.HeardNs,
                alarms(h))).Where(p => p.HeardNs > 0),
        ];
    }

    /// <summary>All stretches of one source; a stretch of its own where the side file names none.</summary>
    private sealed record Unit(string? Source, long HeardNs, int Alarms)
    {
        public static IReadOnlyList<Unit> Of(IEnumerable<Play> plays) =>
            [.. plays.GroupBy(p => p.Key, StringComparer.Ordinal)
                .Select(g => new Unit(g.First().Source, g.Sum(p => p.HeardNs), g.Sum(p => p.Alarms)))];
    }
}
