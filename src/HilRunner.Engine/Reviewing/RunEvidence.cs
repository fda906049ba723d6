using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Reviewing;

/// <summary>What a capture proves: everything a score needs, worked out from the run's folder alone.</summary>
public sealed record RunEvidence
{
    /// <summary>In order of arrival; the lead's have negative times.</summary>
    public required IReadOnlyList<Decision> Decisions { get; init; }
    public required RigHealth Health { get; init; }
    public required DeviceHealth Device { get; init; }
    /// <summary>End of what was played: T, or less when the run ended early.</summary>
    public required StimulusTime End { get; init; }
    public required IReadOnlyDictionary<string, string> Identity { get; init; }
    /// <summary>Messages that were understood, before the run and in it.</summary>
    public required long Understood { get; init; }
    /// <summary>Null: the capture has no end (its writer was killed, or is still at it).</summary>
    public string? EndCause { get; init; }
    public string EndMessage { get; init; } = "";
    public required RunTiming Timing { get; init; }
    public required IReadOnlyList<Incident> Incidents { get; init; }
    /// <summary>The device fell silent on a link that was there, and nothing brought an answer so far.</summary>
    public bool StillSilent { get; init; }
    public required Delivery Delivery { get; init; }
    /// <summary>Where samples were held up on their way to the device, in order.</summary>
    public IReadOnlyList<HeldUp> HeldUp { get; init; } = [];
    /// <summary>Sentences that stand beside the verdict, whatever it is.</summary>
    public required IReadOnlyList<string> Notes { get; init; }
}

/// <summary>Trouble with its place on the stimulus axis, where it has one.</summary>
public sealed record Incident(StimulusTime? At, string What);
