using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Prompting;

/// <summary>
/// The reference timeline of a run that was moved by hand: each class from its onset to the next one's. Pure: prompts and marks in,
/// onsets with their uncertainty out.
/// </summary>
public static class HandReference
{
    /// <summary>
    /// How far from a mark the true onset may lie. A person reacts to what they see in about 0.23 s on average (Woods, Wyma, Yund,
    /// Herron and Reed, Frontiers in Human Neuroscience 9:131, 2015; from memory); who marks what they do themselves is early as well as late.
    /// </summary>
    public static readonly TimeSpan Reaction = TimeSpan.FromMilliseconds(300);

    /// <summary>Without a mark: a person who was told has begun after this long at most.</summary>
    public static readonly TimeSpan LatestBegin = TimeSpan.FromSeconds(2);

    public static IReadOnlyList<HandOnset> Onsets(PromptSchedule schedule, IReadOnlyList<HandMark> marks)
    {
        var onsets = new List<HandOnset>();
        for (int i = 0; i < schedule.Prompts.Count; i++) { onsets.Add(Onset(schedule.Prompts[i], i, marks)); }
        return onsets;
    }

    /// <summary>The last interval ends with the schedule. Before the first onset nothing is expected.</summary>
    public static IReadOnlyList<ReferenceInterval> Intervals(PromptSchedule schedule, IReadOnlyList<HandOnset> onsets) =>
    [
        .. onsets.Select((onset, i) => new ReferenceInterval(
            onset.Onset, i + 1 < onsets.Count ? onsets[i + 1].Onset : schedule.End, onset.Class, i) { UncertaintyNs = onset.UncertaintyNs }),
    ];

    private static HandOnset Onset(Prompt prompt, int step, IReadOnlyList<HandMark> marks)
    {
        StimulusTime? Of(HandMarkKind kind) => marks.Where(m => m.Step == step && m.Kind == kind).Select(m => (StimulusTime?)m.At).FirstOrDefault();
        var (told, marked, motion) = (Of(HandMarkKind.Told), Of(HandMarkKind.Marked), Of(HandMarkKind.Motion));
        HandOnset onset;
        if (marked is { } mark && mark >= prompt.Start && mark < prompt.End)
        {
            onset = new(step, prompt.Say, prompt.Class, mark, Reaction.Ticks * 100,
                FormattableString.Invariant($"marked by key; a person's reaction is known to ±{Reaction.TotalSeconds:0.0##} s"));
        }
        else
        {
            StimulusTime from = told is { } said && said >= prompt.Start && said < prompt.End ? said : prompt.Start;
            long span = Math.Min(LatestBegin.Ticks * 100, prompt.End - from);
            onset = new(step, prompt.Say, prompt.Class, from + span / 2, span - span / 2,
                FormattableString.Invariant($"not marked: between told and {span / 1e9:0.0##} s later"));
        }
        return onset with { Told = told, Marked = marked, Motion = motion };
    }
}
