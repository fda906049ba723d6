using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;
using HilRunner.Scoring.Timelines;

namespace HilRunner.Scoring;

/// <summary>
/// Which trials of a reference count, by class: known before anything is played, since it depends on their length alone.
/// </summary>
/// <param name="Trials">Of the class, those that cannot count included.</param>
/// <param name="Short">Those that cannot count: too short for within and hold, or an event whose window leaves the
/// stimulus.</param>
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
    /// <exception cref="ArgumentException">An interval starts below 0, does not end after its start, or overlaps
    /// another.</exception>
    public static IReadOnlyList<TrialCounts> Of(IReadOnlyList<ReferenceInterval> reference, ScoringRules rules, StimulusTime end)
    {
        ArgumentNullException.ThrowIfNull(rules);
        return Of(ReferenceTimeline.Build(reference, rules, end.Ns), rules, end.Ns);
    }

    /// <summary>
    /// Every trial as it is hoped for, recognised at once, to see before anything is played which of them count.
    /// </summary>
    /// <inheritdoc cref="Of(IReadOnlyList{ReferenceInterval}, ScoringRules, StimulusTime)"/>
    public static IReadOnlyList<TrialScore> Hoped(IReadOnlyList<ReferenceInterval> reference, ScoringRules rules,
        StimulusTime end)
    {
        ArgumentNullException.ThrowIfNull(rules);
        var timeline = ReferenceTimeline.Build(reference, rules, end.Ns);
        return
        [
            .. timeline.StateTrials.Select(t => Hoped(t, isEvent: false, Counts(t, rules)))
                .Concat(timeline.EventTrials.Select(t => Hoped(t, isEvent: true, CountsAsEvent(t, rules.WithinNs ?? 0, end.Ns))))
                .OrderBy(t => t.StartNs),
        ];
    }

    internal static IReadOnlyList<TrialCounts> Of(ReferenceTimeline reference, ScoringRules rules, long end)
    {
        var states = reference.StateTrials.Select(t => (Trial: t, Counts: Counts(t, rules), Room: t.Length - rules.HoldNs));
        var events = reference.EventTrials.Select(t => (Trial: t, Counts: CountsAsEvent(t, rules.WithinNs ?? 0, end),
            Room: end - t.Start));
        return
        [
            .. states.Concat(events).GroupBy(t => t.Trial.Class, StringComparer.Ordinal)
                .OrderBy(g => g.Key, StringComparer.Ordinal)
                .Select(g => new TrialCounts(g.Key, g.Count(), g.Count(t => !t.Counts), Positive(g.Min(t => t.Room)), rules)),
        ];
    }

    /// <summary>A state's interval counts where it leaves room for the latest reaction and the hold.</summary>
    internal static bool Counts(Interval trial, ScoringRules rules) =>
        trial.Length >= Nanoseconds.AddHeld(rules.WithinNs ?? 0, rules.HoldNs);

    /// <summary>An event counts where its whole window lies in what is played.</summary>
    internal static bool CountsAsEvent(Interval trial, long withinNs, long end) =>
        Nanoseconds.AddHeld(trial.Start, withinNs) <= end;

    private static long? Positive(long ns) => ns > 0 ? ns : null;

    private static TrialScore Hoped(Interval trial, bool isEvent, bool counted) => new()
    {
        Class = trial.Class, StartNs = trial.Start, EndNs = trial.End, IsEvent = isEvent,
        Already = false, Missed = false, Recognised = true, Counted = counted,
    };

    private static string Seconds(long ns) => $"{new StimulusTime(ns)}";
}
