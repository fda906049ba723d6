using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;
using HilRunner.Scoring.Timelines;

namespace HilRunner.Scoring;

/// <summary>
/// Which trials of a reference count, by class: known before anything is played, since it depends on their length alone.
/// </summary>
/// <param name="Trials">Of the class, those that cannot count included.</param>
/// <param name="Short">Those that cannot count: too short for within and hold, or an event whose window leaves the stimulus.</param>
/// <param name="MostWithinNs">The largest within at which all of them count; null: there is none.</param>
/// <param name="Rules">By which they were counted.</param>
public sealed record TrialCounts(string Class, int Trials, int Short, long? MostWithinNs, ScoringRules Rules)
{
    /// <summary>A sentence where some trials cannot count; else none.</summary>
    public IEnumerable<string> Notes
    {
        get
        {
            if (Short == 0) { yield break; }
            bool isEvent = Rules.Events.Contains(Class);
            string trials = Trials == 1 ? "the trial" : $"{Short} of {Trials} trials";
            string rule = isEvent
                ? $"what is played ends less than within ({Seconds(Rules.WithinNs ?? 0)}) after {(Short == 1 ? "its start" : "their starts")}"
                : $"{(Short == 1 ? "it is" : "they are")} shorter than {Needed}";
            string advice = MostWithinNs is { } most ? $"; all count with within: {Seconds(most)}"
                : isEvent ? "" : $"; hold: {Seconds(Rules.HoldNs)} alone is longer";
            yield return $"{trials} of {Class} cannot count, as {rule}{advice}";
        }
    }

    private string Needed => (Rules.WithinNs, Rules.HoldNs) switch
    {
        ({ } within, 0) => $"within ({Seconds(within)})",
        (null, var hold) => $"hold ({Seconds(hold)})",
        ({ } within, var hold) => $"within ({Seconds(within)}) and hold ({Seconds(hold)})",
    };

    /// <summary>By class, ordinally; classes without a trial are not in it.</summary>
    /// <exception cref="ArgumentException">An interval starts below 0, does not end after its start, or overlaps another.</exception>
    public static IReadOnlyList<TrialCounts> Of(IReadOnlyList<ReferenceInterval> reference, ScoringRules rules, StimulusTime end)
    {
        ArgumentNullException.ThrowIfNull(rules);
        return Of(ReferenceTimeline.Build(reference, rules, end.Ns), rules, end.Ns);
    }

    /// <summary>
    /// Every trial as it is hoped for, recognised at once, to see before anything is played which of them count.
    /// </summary>
    /// <inheritdoc cref="Of(IReadOnlyList{ReferenceInterval}, ScoringRules, StimulusTime)"/>
    public static IReadOnlyList<TrialScore> Hoped(IReadOnlyList<ReferenceInterval> reference, ScoringRules rules, StimulusTime end)
    {
        ArgumentNullException.ThrowIfNull(rules);
        var timeline = ReferenceTimeline.Build(reference, rules, end.Ns);
        return
        [
            .. timeline.StateTrials.Select(t => Hoped(t, isEvent: false, t.Length >= LeastStateNs(rules)))
                .Concat(timeline.EventTrials.Select(t => Hoped(t, isEvent: true, WindowEnds(t, rules) <= end.Ns)))
                .OrderBy(t => t.StartNs),
        ];
    }

    internal static IReadOnlyList<TrialCounts> Of(ReferenceTimeline reference, ScoringRules rules, long end)
    {
        var states = reference.StateTrials.GroupBy(t => t.Class, StringComparer.Ordinal).Select(g => new TrialCounts(
            g.Key, g.Count(), g.Count(t => t.Length < LeastStateNs(rules)), Positive(g.Min(t => t.Length) - rules.HoldNs), rules));
        var events = reference.EventTrials.GroupBy(t => t.Class, StringComparer.Ordinal).Select(g => new TrialCounts(
            g.Key, g.Count(), g.Count(t => WindowEnds(t, rules) > end), Positive(g.Min(t => end - t.Start)), rules));
        return [.. states.Concat(events).OrderBy(c => c.Class, StringComparer.Ordinal)];
    }

    /// <summary>The shortest interval of a state that counts, ns: one that leaves room for the latest reaction and the hold.</summary>
    internal static long LeastStateNs(ScoringRules rules) => Nanoseconds.AddHeld(rules.WithinNs ?? 0, rules.HoldNs);

    private static long WindowEnds(Interval trial, ScoringRules rules) => Nanoseconds.AddHeld(trial.Start, rules.WithinNs ?? 0);

    private static long? Positive(long ns) => ns > 0 ? ns : null;

    private static TrialScore Hoped(Interval trial, bool isEvent, bool counted) => new()
    {
        Class = trial.Class, StartNs = trial.Start, EndNs = trial.End, IsEvent = isEvent,
        Already = false, Missed = false, Recognised = true, Counted = counted,
    };

    private static string Seconds(long ns) => $"{new StimulusTime(ns)}";
}
