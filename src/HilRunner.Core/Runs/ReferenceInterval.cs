using HilRunner.Core.Time;

namespace HilRunner.Core.Runs;

/// <summary>One row of expected.csv: over [Start, End) the device should report <paramref name="Class"/>.</summary>
/// <param name="Start">Not below 0.</param>
/// <param name="End">After Start; the scorer cuts it at the end of the stimulus.</param>
/// <param name="Class">The device's class name.</param>
/// <param name="Trial">Number of the trial, by stimulus step; null where the file has none.</param>
public sealed record ReferenceInterval(StimulusTime Start, StimulusTime End, string Class, int? Trial = null)
{
    /// <summary>Half-width of the interval around <see cref="Start"/> that holds the true onset; 0 where it is exact, as in what is played.</summary>
    public long UncertaintyNs { get; init; }

    /// <summary>Where the motion was recorded; null: it was made, moved by hand, or the file does not say.</summary>
    public RecordedSegment? Segment { get; init; }
}

/// <summary>A labelled stretch of a recording, whole: [From, To) in the recording's own time, however much of it was played.</summary>
/// <param name="Recording">Its place among the run's sources, from 1.</param>
public readonly record struct RecordedSegment(int Recording, StimulusTime From, StimulusTime To);
