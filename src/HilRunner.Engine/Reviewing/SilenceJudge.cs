using HilRunner.Engine.Playing;

namespace HilRunner.Engine.Reviewing;

/// <summary>
/// Whose doing a silence was. It is the device's only where a reset or a power cycle on the same open link brought an answer;
/// else the link, a converter or the device may be at fault, and the run says nothing of the device.
/// </summary>
internal sealed record SilenceJudge
{
    /// <summary>Questions to the end that went unanswered; null: none did, or something was heard meanwhile.</summary>
    public required Silence? Unanswered { get; init; }
    /// <summary>What was done to the silent device, in its order, and whether it answered then.</summary>
    public required IReadOnlyList<(string By, bool Answered)> Revivals { get; init; }
    /// <summary>It stopped to take samples.</summary>
    public required bool Starved { get; init; }
    /// <summary>By its own counters nothing was lost on the way.</summary>
    public required bool NothingWasLost { get; init; }
    /// <summary>
    /// It said something since begin. Where it did not and few questions went unanswered, the begin message may be lost.
    /// </summary>
    public required bool HeardSinceBegin { get; init; }
    /// <summary>Until when it was heard, as words to follow "fell silent"; "": not known.</summary>
    public required string Since { get; init; }

    /// <summary>Where nothing brought an answer so far: something may still be done to it from outside.</summary>
    public bool IsStillSilent => AnsweredAfter is null;

    /// <summary>What brought an answer; null: nothing did.</summary>
    public string? AnsweredAfter => Revivals.FirstOrDefault(r => r.Answered).By;

    /// <summary>
    /// The silence was the device's own. Questions that went unanswered after earlier answers show it even where nothing was
    /// heard since begin: a device that lost its begin message still answers what it is asked.
    /// </summary>
    public bool IsOwn => IsAsked ? Starved && NothingWasLost : AnsweredAfter is not null && Unanswered is { IsShown: true };

    /// <summary>It answered when it was only asked once more.</summary>
    private bool IsAsked => AnsweredAfter == RevivalBy.Waiting;

    /// <summary>Why the run says nothing of the device, where the silence is not its own.</summary>
    public string Fault
    {
        get
        {
            if (AnsweredAfter is not { } by)
            {
                string tried = Revivals.Count == 0
                    ? "nothing could be tried on the open link (before_each, recover.reset or recover.power_cycle)"
                    : $"{string.Join(" and ", Revivals.Select(r => r.By))} on the open link brought no answer";
                return $"the device fell silent{Since}, and {tried}: whether device or link is at fault is not known";
            }
            if (IsAsked)
            {
                return Starved
                    ? $"the device stopped taking samples{Since} although it answers: samples or credit were lost on the way, or it hangs in part"
                    : $"the device was silent{Since} and answered again without a reset: device or link was held up";
            }
            return !HeardSinceBegin
                ? $"the device said nothing since the run began, and answered after a {by}: the begin message may have been lost"
                : $"the device fell silent{Since} and answered after a {by}, but too few questions went unanswered"
                    + " to show that the link was not at fault; describe device.clock or device.says.counters, so that it is asked";
        }
    }
}
