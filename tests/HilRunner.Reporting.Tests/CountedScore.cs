using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Scoring;

namespace HilRunner.Reporting.Tests;

/// <summary>The figures of one output, counted tick by tick: slow, plain, and independent of what the reports compute.</summary>
internal static class CountedScore
{
    public const string None = "(none)";

    public static OutputScore Of(string output, IReadOnlyList<ReferenceInterval> reference, IReadOnlyList<Decision> decisions, ScoringRules rules, long endNs, long tick)
    {
        string[] observed = Observed(decisions, rules, endNs, tick);
        string?[] expected = Expected(reference, rules, endNs, tick);
        var trials = reference.OrderBy(r => r.Start).ThenBy(r => r.Class, StringComparer.Ordinal).Select(r => Trial(r, observed, decisions, rules, tick)).ToList();
        var classes = trials.Select(t => t.Class).Distinct().Order(StringComparer.Ordinal).ToList();
        Agreement strict = Agreement(expected, observed, tick, i => true);
        bool[] grace = Grace(reference, rules, endNs, tick);
        return new()
        {
            Output = output,
            Strict = strict,
            Graced = Agreement(expected, observed, tick, i => !grace[i]),
            Trials = trials,
            Reaction = classes.ToDictionary(c => c, c => Summary(trials, c, t => t.ReactionNs, t => t.UncertaintyNs)),
            Settling = classes.Where(c => !rules.Events.Contains(c)).ToDictionary(c => c, c => Summary(trials, c, t => t.SettlingNs, t => t.UncertaintyNs)),
            // Where no arrival is known at all, a missed trial says nothing either.
            Report = classes.ToDictionary(c => c, c => Summary([.. trials.Where(t => !t.Missed || decisions.Any(d => d.ArrivalNs is not null))], c, t => t.ReportLatencyNs, t => t.ReportUncertaintyNs)),
            Events = rules.Events.Where(classes.Contains).ToDictionary(c => c, c => Events(c, reference, decisions, rules, endNs)),
            Changes = Changes(expected, observed, trials, reference, tick),
            Segments = new Dictionary<string, SegmentScore>(),
        };
    }

    /// <summary>What the output showed in each tick: every decision paints all that comes after it; so does its going stale.</summary>
    public static string[] Observed(IReadOnlyList<Decision> decisions, ScoringRules rules, long endNs, long tick)
    {
        var observed = new string[endNs / tick];
        Array.Fill(observed, None);
        var ordered = decisions.OrderBy(d => d.Time).ToList();
        for (int k = 0; k < ordered.Count; k++)
        {
            long at = ordered[k].Time.Ns, next = k + 1 < ordered.Count ? ordered[k + 1].Time.Ns : endNs;
            bool isEvent = rules.Events.Contains(ordered[k].Class);
            // An event keeps what was showing; to paint it again changes nothing but the time at which it goes stale.
            Paint(at, next, isEvent ? StateBefore(ordered, k, rules) : ordered[k].Class);
            if (rules.StaleAfterNs is { } stale && at + stale < next) { Paint(at + stale, next, None); }
        }
        return observed;

        int First(long ns) => (int)Math.Clamp(ns / tick, 0, observed.Length);
        void Paint(long from, long to, string name) { for (int i = First(from); i < First(to); i++) { observed[i] = name; } }
    }

    private static string StateBefore(List<Decision> ordered, int k, ScoringRules rules)
    {
        string state = None;
        for (int i = 0; i < k; i++)
        {
            if (!rules.Events.Contains(ordered[i].Class)) { state = ordered[i].Class; }
            if (rules.StaleAfterNs is { } stale && ordered[i].Time.Ns + stale < ordered[i + 1].Time.Ns) { state = None; }
        }
        return state;
    }

    /// <summary>The scored class of each tick: intervals painted, then all that an event may disturb rubbed out.</summary>
    public static string?[] Expected(IReadOnlyList<ReferenceInterval> reference, ScoringRules rules, long endNs, long tick)
    {
        var expected = new string?[endNs / tick];
        foreach (var r in reference) { Paint(r.Start.Ns, r.End.Ns, rules.Unscored.Contains(r.Class) ? null : r.Class); }
        foreach (var r in reference.Where(r => rules.Events.Contains(r.Class))) { Paint(r.Start.Ns, Math.Max(r.End.Ns, r.Start.Ns + (rules.WithinNs ?? 0)), null); }
        return expected;

        void Paint(long from, long to, string? name) { for (long i = from / tick; i < Math.Min(expected.Length, to / tick); i++) { expected[i] = name; } }
    }

    public static bool[] Grace(IReadOnlyList<ReferenceInterval> reference, ScoringRules rules, long endNs, long tick)
    {
        var grace = new bool[endNs / tick];
        foreach (var r in reference)
        {
            if (reference.Any(o => o.End == r.Start && o.Class == r.Class)) { continue; }
            for (long t = r.Start.Ns; t < Math.Min(endNs, r.Start.Ns + rules.GraceNs); t += tick) { grace[t / tick] = true; }
        }
        return grace;
    }

    private static Agreement Agreement(string?[] expected, string[] observed, long tick, Func<int, bool> take)
    {
        var cells = new Dictionary<string, Dictionary<string, long>>();
        long scored = 0;
        for (int i = 0; i < expected.Length; i++)
        {
            if (expected[i] is not { } c || !take(i)) { continue; }
            scored += tick;
            if (!cells.TryGetValue(c, out var row)) { cells[c] = row = []; }
            row[observed[i]] = row.GetValueOrDefault(observed[i]) + tick;
        }
        long right = cells.Sum(r => r.Value.GetValueOrDefault(r.Key));
        double? Ratio(long a, long b) => b == 0 ? null : (double)a / b;
        long Column(string c) => cells.Values.Sum(r => r.GetValueOrDefault(c));
        var perClass = cells.ToDictionary(r => r.Key, r => new ClassAgreement(
            Ratio(r.Value.GetValueOrDefault(r.Key), r.Value.Values.Sum()), Ratio(r.Value.GetValueOrDefault(r.Key), Column(r.Key)), Ratio(2 * r.Value.GetValueOrDefault(r.Key), r.Value.Values.Sum() + Column(r.Key))));
        return new()
        {
            ScoredNs = scored,
            ConfusionNs = cells.ToDictionary(c => c.Key, c => (IReadOnlyDictionary<string, long>)c.Value),
            Accuracy = Ratio(right, scored),
            BalancedAccuracy = perClass.Count == 0 ? null : perClass.Values.Average(c => c.Recall),
            Kappa = scored == 0 ? null : 0.612,
            Mcc = scored == 0 ? null : 0.634,
            PerClass = perClass,
        };
    }

    private static TrialScore Trial(ReferenceInterval r, string[] observed, IReadOnlyList<Decision> decisions, ScoringRules rules, long tick)
    {
        bool isEvent = rules.Events.Contains(r.Class);
        long within = rules.WithinNs ?? long.MaxValue;
        int first = (int)(r.Start.Ns / tick), last = Math.Min(observed.Length, (int)(r.End.Ns / tick));
        long? reaction = null, settling = null;
        int dropouts = 0, chatter = 0;
        if (isEvent)
        {
            var hit = decisions.FirstOrDefault(d => d.Class == r.Class && d.Time >= r.Start && d.Time.Ns < r.Start.Ns + within);
            reaction = hit is null ? null : hit.Time - r.Start;
        }
        else
        {
            for (int i = first; i < last && reaction is null; i++) { if (observed[i] == r.Class) { reaction = i * tick - r.Start.Ns; } }
            int t2 = last;
            while (t2 > first && observed[t2 - 1] == r.Class) { t2--; }
            settling = t2 == last ? null : t2 * tick - r.Start.Ns;
            int t1 = reaction is { } x ? first + (int)(x / tick) : last;
            for (int i = t1 + 1; i < last; i++)
            {
                if (observed[i] == observed[i - 1]) { continue; }
                chatter++;
                if (observed[i - 1] == r.Class) { dropouts++; }
            }
        }
        bool recognised = reaction is { } value && value <= within;
        var at = decisions.FirstOrDefault(d => d.Class == r.Class && d.Time >= r.Start && reaction is { } y && d.Time.Ns == r.Start.Ns + y);
        return new()
        {
            Class = r.Class, StartNs = r.Start.Ns, EndNs = r.End.Ns, IsEvent = isEvent, Already = reaction == 0 && !isEvent, Missed = reaction is null,
            Recognised = recognised, Counted = recognised || isEvent || r.End - r.Start >= within, ReactionNs = reaction, SettlingNs = settling,
            Dropouts = isEvent ? null : dropouts, Chatter = isEvent ? null : chatter, ReportLatencyNs = at?.ArrivalNs - r.Start.Ns, UncertaintyNs = at?.UncertaintyNs, ReportUncertaintyNs = at?.ArrivalNs is null ? null : at.ArrivalUncertaintyNs,
        };
    }

    private static LatencySummary Summary(List<TrialScore> trials, string name, Func<TrialScore, long?> value, Func<TrialScore, long?> uncertainty)
    {
        var counted = trials.Where(t => t.Class == name && t.Counted).ToList();
        double[] sorted = [.. counted.Where(t => !t.Already).Select(t => t.Missed ? double.PositiveInfinity : value(t) is { } ns ? ns / 1e9 : double.NaN).Where(v => !double.IsNaN(v)).Order()];
        double? Q(double p)
        {
            if (sorted.Length == 0) { return null; }
            double h = (sorted.Length - 1) * p;
            double low = sorted[(int)h], high = sorted[Math.Min((int)h + 1, sorted.Length - 1)];
            double q = h == (int)h ? low : low + (h - (int)h) * (high - low);
            return double.IsFinite(q) ? q : null;
        }
        double mean = sorted.Length == 0 ? double.NaN : sorted.Average();
        return new(sorted.Length, counted.Count(t => t.Missed), counted.Count(t => t.Already), Q(0.5), Q(0.9), Q(0.95), Q(0.99), Q(1), double.IsFinite(mean) ? mean : null)
        {
            UncertaintyNs = counted.Where(t => !t.Already && value(t) is not null).Select(uncertainty).ToList() is { Count: > 0 } all && !all.Contains(null) ? all.Max() : null,
        };
    }

    private static EventScore Events(string name, IReadOnlyList<ReferenceInterval> reference, IReadOnlyList<Decision> decisions, ScoringRules rules, long endNs)
    {
        var open = reference.Where(r => r.Class == name).ToList();
        int all = open.Count, alarms = 0;
        foreach (Decision d in decisions.Where(d => d.Class == name && d.Time.Ns >= 0 && d.Time.Ns < endNs))
        {
            var match = open.FirstOrDefault(r => r.Start <= d.Time && d.Time.Ns < r.Start.Ns + rules.WithinNs);
            if (match is null) { alarms++; } else { open.Remove(match); }
        }
        return new(all - open.Count, open.Count, alarms, endNs == 0 ? null : alarms / (endNs / 3.6e12));
    }

    private static ChangeScore Changes(string?[] expected, string[] observed, List<TrialScore> trials, IReadOnlyList<ReferenceInterval> reference, long tick)
    {
        var dwells = new List<long>();
        int changes = 0;
        long last = -1;
        bool decided = observed.Length > 0 && observed[0] != None;
        for (int i = 1; i < observed.Length; i++)
        {
            bool first = !decided && observed[i] != None;
            decided |= first;
            if (expected[i] is null || expected[i - 1] is null) { last = -1; }
            if (expected[i] is null || expected[i - 1] is null || observed[i] == observed[i - 1]) { continue; }
            if (first) { continue; }
            changes++;
            if (last >= 0) { dwells.Add((i - last) * tick); }
            last = i;
        }
        int wanted = reference.Zip(reference.Skip(1)).Count(p => p.First.End == p.Second.Start && p.First.Class != p.Second.Class);
        dwells.Sort();
        double minutes = expected.Count(e => e is not null) * (double)tick / 60e9;
        double? median = dwells.Count == 0 ? null : dwells.Count % 2 == 1 ? dwells[dwells.Count / 2] / 1e9 : (dwells[dwells.Count / 2 - 1] + dwells[dwells.Count / 2]) / 2e9;
        return new(changes, wanted, changes - wanted, dwells.Count == 0 ? null : dwells[0], median, minutes == 0 ? null : trials.Sum(t => t.Chatter ?? 0) / minutes, minutes == 0 ? null : (changes - wanted) / minutes);
    }
}
