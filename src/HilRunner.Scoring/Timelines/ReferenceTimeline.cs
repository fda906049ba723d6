using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;

namespace HilRunner.Scoring.Timelines;

/// <summary>
/// The reference as the figures use it: cut at the end of the stimulus, without unscored time, and without the reference
/// intervals of events and the time up to start + within of them (which are unscored for the states).
/// </summary>
internal sealed class ReferenceTimeline
{
    /// <summary>A reference class of this name is unscored whatever the rules say, so that a bare file can mark gaps.</summary>
    public const string UnscoredClass = "unscored";

    private readonly List<Interval> _states = [];
    private readonly List<Interval> _stateTrials = [];
    private readonly List<Interval> _eventTrials = [];
    private readonly List<Stretch> _stretches = [];

    private ReferenceTimeline()
    {
    }

    /// <summary>Scored state intervals by start; abutting ones of one class are one.</summary>
    public IReadOnlyList<Interval> States => _states;

    /// <summary>As <see cref="States"/>, but intervals of different stimulus steps stay apart.</summary>
    public IReadOnlyList<Interval> StateTrials => _stateTrials;

    /// <summary>Event intervals by start; those of different stimulus steps stay apart.</summary>
    public IReadOnlyList<Interval> EventTrials => _eventTrials;

    public IReadOnlyList<Stretch> Stretches => _stretches;

    /// <exception cref="ArgumentException">An interval starts below 0, does not end after its start, or overlaps another.</exception>
    public static ReferenceTimeline Build(IReadOnlyList<ReferenceInterval> reference, ScoringRules rules, long end)
    {
        var ordered = reference.OrderBy(i => i.Start.Ns).ToList();
        Check(ordered);
        var events = rules.Events.ToHashSet(StringComparer.Ordinal);
        var unscored = rules.Unscored.Append(UnscoredClass).ToHashSet(StringComparer.Ordinal);
        var scored = ordered.Where(i => i.Start.Ns < end && !unscored.Contains(i.Class)).ToList();

        var timeline = new ReferenceTimeline();
        timeline.AddEvents(scored.Where(i => events.Contains(i.Class)), end);
        timeline.AddStates(scored.Where(i => !events.Contains(i.Class)), end, rules.WithinNs ?? 0);
        return timeline;
    }

    private void AddEvents(IEnumerable<ReferenceInterval> intervals, long end)
    {
        int? trial = null;
        foreach (var interval in intervals)
        {
            Append(_eventTrials, new(interval.Start.Ns, Math.Min(interval.End.Ns, end), interval.Class) { Uncertainty = interval.UncertaintyNs }, interval.Trial == trial);
            trial = interval.Trial;
        }
    }

    private void AddStates(IEnumerable<ReferenceInterval> intervals, long end, long within)
    {
        int? trial = null;
        int nextEvent = 0;
        long shadowEnd = 0;
        foreach (var interval in intervals)
        {
            for (; nextEvent < _eventTrials.Count && _eventTrials[nextEvent].Start < interval.Start.Ns; nextEvent++)
            {
                var e = _eventTrials[nextEvent];
                shadowEnd = Math.Max(shadowEnd, Math.Max(e.End, Nanoseconds.AddHeld(e.Start, within)));
            }
            // An event lies before or after a state interval, never inside: its shadow can only cut the interval's start.
            var piece = new Interval(Math.Max(interval.Start.Ns, shadowEnd), Math.Min(interval.End.Ns, end), interval.Class) { Uncertainty = interval.UncertaintyNs };
            if (piece.Length <= 0) { continue; }
            Append(_stateTrials, piece, interval.Trial == trial);
            Append(_states, piece, sameStep: true);
            trial = interval.Trial;
            if (_stretches.Count > 0 && _stretches[^1].End == piece.Start)
            {
                _stretches[^1] = _stretches[^1] with { End = piece.End };
            }
            else
            {
                _stretches.Add(new(piece.Start, piece.End));
            }
        }
    }

    private static void Append(List<Interval> intervals, Interval next, bool sameStep)
    {
        if (sameStep && intervals.Count > 0 && intervals[^1].End == next.Start && intervals[^1].Class == next.Class)
        {
            intervals[^1] = intervals[^1] with { End = next.End };
            return;
        }
        intervals.Add(next);
    }

    private static void Check(List<ReferenceInterval> ordered)
    {
        long reached = 0;
        foreach (var interval in ordered)
        {
            string what = $"the reference interval of {interval.Class} from {interval.Start} to {interval.End}";
            if (interval.Class.Length == 0) { throw new ArgumentException($"{what} has no class", nameof(ordered)); }
            if (interval.Start.Ns < 0) { throw new ArgumentException($"{what} starts below 0", nameof(ordered)); }
            if (interval.End <= interval.Start) { throw new ArgumentException($"{what} does not end after its start", nameof(ordered)); }
            if (interval.Start.Ns < reached)
            {
                throw new ArgumentException($"{what} overlaps the one that ends at {new StimulusTime(reached)}", nameof(ordered));
            }
            reached = interval.End.Ns;
        }
    }
}
