using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;

namespace HilRunner.Reporting.Axis;

/// <summary>From <paramref name="StartNs"/> to the next step the output showed this class; "(none)" before the first decision.</summary>
internal readonly record struct Step(long StartNs, string Class);

/// <summary>A decision of an event class, and whether it met a reference interval.</summary>
internal readonly record struct EventMark(long AtNs, string Class, bool Hit);

/// <summary>A stretch in which reference and observation differ.</summary>
internal readonly record struct Difference(long StartNs, long EndNs, bool InGrace);

/// <summary>
/// One output against the reference, as the axis draws it. The rules are those of the score (a step function; the last decision
/// before 0 holds at 0; of several at one time the last wins; stale output becomes "(none)"; events never change the state).
/// </summary>
internal sealed record ObservedTimeline(IReadOnlyList<Step> Steps, IReadOnlyList<EventMark> Events, IReadOnlyList<Difference> Differences, IReadOnlyList<long> DwellsNs)
{
    public static ObservedTimeline Of(StoredRun run, string output)
    {
        var decisions = run.Decisions.Where(d => d.Output == output).OrderBy(d => d.Time).ToList();
        List<Step> steps = StepsOf(decisions, run.Rules, run.End.Ns);
        List<ScoredPiece> pieces = ScoredPieces.Of(run.Reference, run.Rules, run.End);
        return new(steps, EventsOf(decisions, run), DifferencesOf(steps, pieces, run.End.Ns), DwellsOf(steps, pieces));
    }

    private static List<Step> StepsOf(List<Decision> decisions, ScoringRules rules, long endNs)
    {
        var steps = new List<Step> { new(0, ClassColours.None) };
        Decision? last = null;
        foreach (Decision decision in decisions)
        {
            if (decision.Time.Ns >= endNs) { break; }
            Expire(steps, last, decision.Time.Ns, rules);
            last = decision;
            if (!rules.Events.Contains(decision.Class)) { Put(steps, decision.Time.Ns, decision.Class); }
        }
        Expire(steps, last, endNs, rules);
        return steps;
    }

    private static void Expire(List<Step> steps, Decision? last, long nowNs, ScoringRules rules)
    {
        if (last is not null && rules.StaleAfterNs is { } stale && last.Time.Ns + stale < nowNs) { Put(steps, last.Time.Ns + stale, ClassColours.None); }
    }

    private static void Put(List<Step> steps, long atNs, string name)
    {
        atNs = Math.Max(0, atNs);
        if (steps[^1].StartNs == atNs) { steps.RemoveAt(steps.Count - 1); }
        if (steps.Count == 0 || steps[^1].Class != name) { steps.Add(new(atNs, name)); }
    }

    private static List<EventMark> EventsOf(List<Decision> decisions, StoredRun run)
    {
        var open = run.Reference.Where(r => run.Rules.Events.Contains(r.Class) && r.Start < run.End).OrderBy(r => r.Start).ToList();
        var marks = new List<EventMark>();
        foreach (Decision d in decisions)
        {
            if (d.Time.Ns < 0 || d.Time >= run.End || !run.Rules.Events.Contains(d.Class)) { continue; }
            int match = open.FindIndex(r => r.Class == d.Class && r.Start.Ns - run.Rules.EarlyNs <= d.Time.Ns
                && d.Time.Ns < r.Start.Ns + (run.Rules.WithinNs ?? 0));
            if (match >= 0) { open.RemoveAt(match); }
            marks.Add(new(d.Time.Ns, d.Class, match >= 0));
        }
        return marks;
    }

    private static List<Difference> DifferencesOf(List<Step> steps, List<ScoredPiece> pieces, long endNs)
    {
        var differences = new List<Difference>();
        int s = 0;
        foreach (ScoredPiece piece in pieces)
        {
            while (s + 1 < steps.Count && steps[s + 1].StartNs <= piece.StartNs) { s++; }
            for (int i = s; i < steps.Count && steps[i].StartNs < piece.EndNs; i++)
            {
                if (steps[i].Class == piece.Class) { continue; }
                long from = Math.Max(steps[i].StartNs, piece.StartNs);
                long to = Math.Min(i + 1 < steps.Count ? steps[i + 1].StartNs : endNs, piece.EndNs);
                Add(differences, from, Math.Min(to, piece.GraceEndNs), inGrace: true);
                Add(differences, Math.Max(from, piece.GraceEndNs), to, inGrace: false);
            }
        }
        return differences;
    }

    private static void Add(List<Difference> differences, long from, long to, bool inGrace)
    {
        if (to <= from) { return; }
        if (differences.Count > 0 && differences[^1] is var last && last.EndNs == from && last.InGrace == inGrace)
        {
            differences[^1] = last with { EndNs = to };
            return;
        }
        differences.Add(new(from, to, inGrace));
    }

    /// <summary>Times between two successive changes inside one stretch of abutting scored time.</summary>
    private static List<long> DwellsOf(List<Step> steps, List<ScoredPiece> pieces)
    {
        var dwells = new List<long>();
        int s = 0;
        for (int p = 0; p < pieces.Count;)
        {
            long start = pieces[p].StartNs, end = pieces[p].EndNs;
            for (p++; p < pieces.Count && pieces[p].StartNs == end; p++) { end = pieces[p].EndNs; }
            while (s < steps.Count && steps[s].StartNs <= start) { s++; }
            long? last = null;
            for (; s < steps.Count && steps[s].StartNs < end; s++)
            {
                // The first decision ever is no change.
                if (s == 1 && steps[0].Class == ClassColours.None) { continue; }
                if (last is { } at) { dwells.Add(steps[s].StartNs - at); }
                last = steps[s].StartNs;
            }
        }
        return dwells;
    }
}

/// <summary>Scored time of one state class; [StartNs, GraceEndNs) of it lies in the grace.</summary>
internal readonly record struct ScoredPiece(long StartNs, long EndNs, long GraceEndNs, string Class);

/// <summary>The reference as the states are scored: without unscored classes, and without events and what they may still disturb.</summary>
internal static class ScoredPieces
{
    public static List<ScoredPiece> Of(IReadOnlyList<ReferenceInterval> reference, ScoringRules rules, StimulusTime end)
    {
        var ordered = reference.Where(r => r.Start < end).OrderBy(r => r.Start).ToList();
        var holes = ordered.Where(r => rules.Events.Contains(r.Class))
            .Select(r => (Start: r.Start.Ns, End: Math.Max(r.End.Ns, r.Start.Ns + (rules.WithinNs ?? 0)))).ToList();
        var pieces = new List<ScoredPiece>();
        foreach (var (start, stop, name) in Merged(ordered, rules, end.Ns))
        {
            long grace = Math.Min(start + rules.GraceNs, stop);
            long from = start;
            foreach (var (holeStart, holeEnd) in holes)
            {
                if (holeEnd <= from || holeStart >= stop) { continue; }
                Add(pieces, from, Math.Min(holeStart, stop), grace, name);
                from = Math.Max(from, holeEnd);
            }
            Add(pieces, from, stop, grace, name);
        }
        return pieces;
    }

    private static void Add(List<ScoredPiece> pieces, long from, long to, long grace, string name)
    {
        if (to > from) { pieces.Add(new(from, to, Math.Clamp(grace, from, to), name)); }
    }

    private static List<(long Start, long End, string Class)> Merged(List<ReferenceInterval> ordered, ScoringRules rules, long endNs)
    {
        var merged = new List<(long Start, long End, string Class)>();
        foreach (ReferenceInterval r in ordered)
        {
            if (rules.Events.Contains(r.Class) || rules.Unscored.Contains(r.Class)) { continue; }
            long stop = Math.Min(r.End.Ns, endNs);
            if (merged.Count > 0 && merged[^1] is var last && last.End == r.Start.Ns && last.Class == r.Class) { merged[^1] = (last.Start, stop, r.Class); }
            else { merged.Add((r.Start.Ns, stop, r.Class)); }
        }
        return merged;
    }
}
