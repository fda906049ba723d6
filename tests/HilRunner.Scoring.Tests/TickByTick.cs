using HilRunner.Core.Runs;

namespace HilRunner.Scoring.Tests;

/// <summary>
/// The slow twin: the definitions worked out on arrays with one entry for each nanosecond, sharing nothing with the scorer.
/// </summary>
internal sealed class TickByTick
{
    private const int First = -10;

    private readonly ScoreInput _input;
    private readonly int _end;

    public TickByTick(ScoreInput input)
    {
        _input = input;
        _end = (int)input.End.Ns;
        Reference = new string?[_end];
        Trial = new int[_end];
        Observed = new string[_end];
        FillReference();
        FillObserved();
    }

    /// <summary>Null: unscored for the states.</summary>
    public string?[] Reference { get; }
    public int[] Trial { get; }
    public string[] Observed { get; }
    public int? FirstDecision { get; private set; }

    public Dictionary<(string, string), long> Confusion(long grace)
    {
        var cells = new Dictionary<(string, string), long>();
        for (int t = 0; t < _end; t++)
        {
            if (Reference[t] is not { } c) { continue; }
            int start = t;
            while (start > 0 && Reference[start - 1] == c) { start--; }
            if (t - start < grace) { continue; }
            cells[(c, Observed[t])] = cells.GetValueOrDefault((c, Observed[t])) + 1;
        }
        return cells;
    }

    public (int Observed, int Reference, List<long> Dwells) Changes()
    {
        int observed = 0, reference = 0;
        var dwells = new List<long>();
        int? before = null;
        for (int t = 1; t < _end; t++)
        {
            if (Reference[t] is null || Reference[t - 1] is null)
            {
                before = null;
                continue;
            }
            if (Reference[t] != Reference[t - 1]) { reference++; }
            if (Observed[t] == Observed[t - 1] || t == FirstDecision) { continue; }
            observed++;
            if (before is { } b) { dwells.Add(t - b); }
            before = t;
        }
        return (observed, reference, dwells);
    }

    public sealed record State(string Class, int Start, int End, long? Reaction, long? Settling, int? Dropouts, int? Chatter);

    public List<State> Trials()
    {
        var states = new List<State>();
        for (int s = 0; s < _end; s++)
        {
            if (Reference[s] is not { } c || (s > 0 && Reference[s - 1] == c && Trial[s - 1] == Trial[s])) { continue; }
            int e = s;
            while (e < _end && Reference[e] == c && Trial[e] == Trial[s]) { e++; }
            int? seen = Enumerable.Range(s, e - s).Select(t => (int?)t).FirstOrDefault(t => Observed[t!.Value] == c);
            int hold = (int)_input.Rules.HoldNs;
            int? t1 = Enumerable.Range(s, e - s).Select(t => (int?)t)
                .FirstOrDefault(t => Observed[t!.Value] == c && t + hold <= e
                    && Observed[t.Value..(t.Value + hold)].All(o => o == c));
            int? t2 = Enumerable.Range(s, e - s).Select(t => (int?)t).FirstOrDefault(t => Observed[t!.Value..e].All(o => o == c));
            int? leaves = null, changes = null;
            if (seen is { } from)
            {
                leaves = Enumerable.Range(from + 1, e - from - 1).Count(t => Observed[t - 1] == c && Observed[t] != c);
                changes = Enumerable.Range(from + 1, e - from - 1).Count(t => Observed[t - 1] != Observed[t]);
            }
            states.Add(new(c, s, e, t1 - s, t2 - s, leaves, changes));
        }
        return states;
    }

    public sealed record Timing(long? Uncertainty, long? Report, long? ReportUncertainty);

    /// <summary>Of each trial, from the decision that stands last in the file at the tick of t1, and at that of t2.</summary>
    public List<Timing> Timings() =>
    [
        .. Trials().Select(t =>
        {
            Decision? At(long? after) => after is null or 0
                ? null
                : _input.Decisions.Last(d => d.Time.Ns == t.Start + after && !_input.Rules.Events.Contains(d.Class));
            var reached = At(t.Reaction);
            var ended = new[] { reached, At(t.Settling) }.Where(d => d is not null).Select(d => d!.UncertaintyNs).ToList();
            var row = _input.Playout.Where(p => p.N == (t.Start == 0 ? 0 : 1)).ToList();
            bool reported = reached?.ArrivalNs is not null && row.Count == 1;
            long? widest = ended.Contains(null) ? null : ended.Max();
            return new Timing(
                HoldIsOpen(t) && widest is { } known ? Math.Max(known, t.End - t.Start) : widest,
                reported ? reached!.ArrivalNs - row[0].ActualNs : null,
                reported ? reached!.ArrivalUncertaintyNs : null);
        }),
    ];

    /// <summary>
    /// Of the stretches in the trial's class up to the one that is long enough: whether one is, or is not, for some true times of
    /// the two decisions that begin and end it. Every pair of times is tried.
    /// </summary>
    public bool HoldIsOpen(State trial)
    {
        long hold = _input.Rules.HoldNs;
        if (hold == 0) { return false; }
        for (int from = trial.Start; from < trial.End; from++)
        {
            if (Observed[from] != trial.Class || (from > trial.Start && Observed[from - 1] == trial.Class)) { continue; }
            int begun = from, to = from;
            while (begun > 0 && Observed[begun - 1] == trial.Class) { begun--; }
            while (to < _end && Observed[to] == trial.Class) { to++; }
            long begunOpen = begun == 0 ? 0 : OpenAt(begun), toOpen = to == _end ? 0 : OpenAt(to);
            bool? first = null;
            for (long b = begun - begunOpen; b <= begun + begunOpen; b++)
            {
                for (long e = to - toOpen; e <= to + toOpen; e++)
                {
                    bool holds = Math.Min(e, trial.End) - Math.Max(b, trial.Start) >= hold;
                    if ((first ??= holds) != holds) { return true; }
                }
            }
            if (Math.Min(to, trial.End) - from >= hold) { return false; }
        }
        return false;
    }

    /// <summary>Half-width of the decision that changed the state at a tick; 0 where silence did, or it is not known.</summary>
    private long OpenAt(int tick) =>
        _input.Decisions.LastOrDefault(d => d.Time.Ns == tick && !_input.Rules.Events.Contains(d.Class))?.UncertaintyNs ?? 0;

    /// <summary>Hyndman and Fan 1996, type 7, in doubles.</summary>
    public static double Quantile(double[] sorted, double p)
    {
        double h = (sorted.Length - 1) * p;
        int below = (int)Math.Floor(h + 1e-12);
        double part = h - below;
        return part < 1e-9 || double.IsInfinity(sorted[below]) ? sorted[below] : sorted[below] + part * (sorted[below + 1] - sorted[below]);
    }

    /// <summary>Segments of c as sets of ticks, met by pairs, their errors sorted tick by tick.</summary>
    public SegmentScore Segments(string c)
    {
        var reference = Runs(t => Reference[t] == c);
        var observed = Runs(t => Reference[t] is not null && Observed[t] == c);
        int Meets(HashSet<int> one, List<HashSet<int>> others) => others.Count(o => o.Overlaps(one));
        bool Joined(HashSet<int> one, List<HashSet<int>> others, List<HashSet<int>> own) => others.Any(o => o.Overlaps(one) && Meets(o, own) >= 2);
        (int, int, int, int, int) Kinds(List<HashSet<int>> own, List<HashSet<int>> others)
        {
            int plain = 0, none = 0, split = 0, joined = 0, both = 0;
            foreach (var one in own)
            {
                bool several = Meets(one, others) >= 2;
                bool joins = Joined(one, others, own);
                if (Meets(one, others) == 0) { none++; }
                else if (several && joins) { both++; }
                else if (several) { split++; }
                else if (joins) { joined++; }
                else { plain++; }
            }
            return (plain, none, split, joined, both);
        }
        (long Alone, long Between, long Before, long After) Errors(List<HashSet<int>> own, List<HashSet<int>> others)
        {
            long alone = 0, between = 0, before = 0, after = 0;
            foreach (var one in own)
            {
                foreach (int t in one.Where(t => !others.Any(o => o.Contains(t))))
                {
                    bool earlier = one.Any(u => u < t && others.Any(o => o.Contains(u)));
                    bool later = one.Any(u => u > t && others.Any(o => o.Contains(u)));
                    if (earlier && later) { between++; }
                    else if (later) { before++; }
                    else if (earlier) { after++; }
                    else { alone++; }
                }
            }
            return (alone, between, before, after);
        }

        var (rc, rd, rf, rm, rfm) = Kinds(reference, observed);
        var (oc, oi, om, of, ofm) = Kinds(observed, reference);
        var fn = Errors(reference, observed);
        var fp = Errors(observed, reference);
        long tp = Enumerable.Range(0, _end).Count(t => Reference[t] == c && Observed[t] == c);
        return new(
            new(rc, rd, rf, rm, rfm), new(oc, oi, of, om, ofm),
            new(tp, fp.Alone, fp.Between, fp.Before, fp.After, fn.Alone, fn.Between, fn.Before, fn.After));
    }

    private List<HashSet<int>> Runs(Func<int, bool> inside)
    {
        var runs = new List<HashSet<int>>();
        for (int t = 0; t < _end; t++)
        {
            if (!inside(t)) { continue; }
            if (t == 0 || !inside(t - 1)) { runs.Add([]); }
            runs[^1].Add(t);
        }
        return runs;
    }

    private void FillReference()
    {
        var rules = _input.Rules;
        for (int t = 0; t < _end; t++)
        {
            var interval = _input.Reference.SingleOrDefault(i => i.Start.Ns <= t && t < i.End.Ns);
            if (interval is null || rules.Unscored.Contains(interval.Class) || rules.Events.Contains(interval.Class)) { continue; }
            // Abutting event intervals of one step are one, so that their window runs from the first one's start.
            bool shadowed = EventStarts().Any(s => s <= t && t < s + rules.WithinNs);
            if (shadowed) { continue; }
            Reference[t] = interval.Class;
            Trial[t] = interval.Trial ?? -1;
        }
    }

    public IEnumerable<long> EventStarts() => _input.Reference
        .Where(i => _input.Rules.Events.Contains(i.Class) && i.Start.Ns < _end)
        .Where(i => !_input.Reference.Any(j => j.End == i.Start && j.Class == i.Class && j.Trial == i.Trial))
        .Select(i => i.Start.Ns);

    private void FillObserved()
    {
        string current = "(none)";
        int? lastMessage = null;
        for (int t = First; t < Math.Max(_end, 60); t++)
        {
            var now = _input.Decisions.Where(d => d.Time.Ns == t).ToList();
            var states = now.Where(d => !_input.Rules.Events.Contains(d.Class)).ToList();
            if (now.Count > 0) { lastMessage = t; }
            else if (lastMessage + _input.Rules.StaleAfterNs <= t) { current = "(none)"; }
            if (states.Count > 0)
            {
                FirstDecision ??= t;
                current = states[^1].Class;
            }
            if (t >= 0 && t < _end) { Observed[t] = current; }
        }
    }
}
