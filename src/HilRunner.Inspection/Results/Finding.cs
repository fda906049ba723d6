namespace HilRunner.Inspection.Results;

/// <summary>A stretch of the recording's time, from its first sample on, in nanoseconds.</summary>
public readonly record struct Stretch(long FromNs, long ToNs);

/// <summary>A measured figure with its unit; null where it is not defined.</summary>
/// <param name="Name">Lower case with underscores, as in JSON.</param>
/// <param name="Unit">"" for a number without one.</param>
public sealed record CheckFigure(string Name, double? Value, string Unit);

/// <summary>One thing that speaks against a recording.</summary>
/// <param name="Kind">Which defect, lower case with underscores: never changes its meaning, so that lists of known findings can name it.</param>
/// <param name="What">What was found, with the figure that decided.</param>
/// <param name="Figure">That figure.</param>
/// <param name="Remedy">What to do.</param>
/// <param name="Where">The first places, at most <see cref="MostPlaces"/>; empty: the whole recording.</param>
/// <param name="Places">How many places there are.</param>
public sealed record Finding(string Kind, Fitness Fitness, string What, CheckFigure Figure, string Remedy, IReadOnlyList<Stretch> Where, long Places)
{
    /// <summary>More places than this are only counted.</summary>
    public const int MostPlaces = 200;
}
