using HilRunner.Core.Time;

namespace HilRunner.Core.Runs;

/// <summary>How a moment of a run that was moved by hand is known.</summary>
public enum HandMarkKind
{
    /// <summary>The person was told to begin.</summary>
    Told,
    /// <summary>The person pressed the key as they began.</summary>
    Marked,
    /// <summary>The motion that the device measured changed.</summary>
    Motion,
}

/// <summary>One row of marks.csv.</summary>
/// <param name="Step">Number of the prompt, from 0.</param>
/// <param name="At">In stimulus time: since the first prompt was due.</param>
/// <param name="HostUnixNs">The same moment in nanoseconds since the Unix epoch, as the capture counts.</param>
public sealed record HandMark(int Step, HandMarkKind Kind, StimulusTime At, long HostUnixNs);

/// <summary>When a prompt's motion began, all that is known of it.</summary>
/// <param name="Say">What the person was told.</param>
/// <param name="Onset">What the reference takes.</param>
/// <param name="UncertaintyNs">Half-width of the interval around it that holds the truth.</param>
/// <param name="Why">Where both come from, in words.</param>
public sealed record HandOnset(int Step, string Say, string Class, StimulusTime Onset, long UncertaintyNs, string Why)
{
    public StimulusTime? Told { get; init; }
    public StimulusTime? Marked { get; init; }
    /// <summary>Null: the device does not say what it measures, or no change was found.</summary>
    public StimulusTime? Motion { get; init; }
}
