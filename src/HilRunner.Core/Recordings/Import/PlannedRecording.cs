using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings.Import;

/// <summary>Where the times of a recording come from.</summary>
public enum Placing
{
    /// <summary>No time column: the rate alone.</summary>
    ByRate,
    /// <summary>The stamps keep to the rule of the native form and stay.</summary>
    Stamps,
    /// <summary>The stamps jitter round even places, which the samples are given.</summary>
    Evened,
    /// <summary>Interpolated at even places between uneven stamps.</summary>
    Resampled,
}

/// <summary>A recording that an import makes.</summary>
public sealed record PlannedRecording
{
    internal PlannedRecording(BlockSurvey survey) => Survey = survey;

    public required string Name { get; init; }
    /// <summary>Of the log: lines of its first and last row (rows, in a Parquet file).</summary>
    public required int FirstLine { get; init; }
    public required int LastLine { get; init; }
    /// <summary>Values of the split_by columns; empty where there are none.</summary>
    public required IReadOnlyList<string> Key { get; init; }
    /// <summary>Why it starts where it does, in words; empty for the first.</summary>
    public required string Because { get; init; }
    public required long Rows { get; init; }
    public required long Samples { get; init; }
    public required SampleRate Rate { get; init; }
    public required Placing Placing { get; init; }
    /// <summary>Time of the first sample on the log's clock.</summary>
    public required StimulusTime Origin { get; init; }
    public required IReadOnlyList<LabelInterval> Labels { get; init; }
    /// <summary>Mean of |a| in g over all samples; null without acceleration.</summary>
    public required double? MeanMagnitudeG { get; init; }
    public StimulusTime Duration => Rate.TimeOf(Samples);

    internal BlockSurvey Survey { get; }
    /// <summary>The time column keeps its clock and its text.</summary>
    internal bool KeepsClock { get; init; }
}
