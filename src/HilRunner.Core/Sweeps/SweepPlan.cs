using HilRunner.Core.Signals.Synthesis;

namespace HilRunner.Core.Sweeps;

/// <summary>A staircase up and down one parameter of a steady motion, to find where the device's class switches.</summary>
public sealed record SweepPlan
{
    public required string Name { get; init; }
    public required SweptMotion Motion { get; init; }
    /// <summary>How long each level lasts; null: found by a step from end to end before the sweep.</summary>
    public TimeSpan? Dwell { get; init; }
    /// <summary>Loops (once up and once down) at each value across. 1 to 1000; with one there is no interval but the step.</summary>
    public int Repeats { get; init; } = 5;
    public ulong Seed { get; init; } = 1;
    /// <summary>Momentary classes: no state, so nothing that switches.</summary>
    public IReadOnlyList<string> Events { get; init; } = [];
    /// <summary>Of the intervals, 0 to 1.</summary>
    public double Confidence { get; init; } = 0.95;
    public IReadOnlyList<SweepLimit> Limits { get; init; } = [];
}

/// <summary>A steady motion, with its parameters in the order of the file; exactly one is a range, at most one has several values.</summary>
public sealed record SweptMotion(IReadOnlyList<(SweptParameter Parameter, SweptValue Value)> Parameters, Direction Axis, Direction Up)
{
    /// <summary>Broadband random, not a tone.</summary>
    public bool IsRandom => Parameters.Any(p => p.Parameter == SweptParameter.Rms);

    public SweptParameter Along => Parameters.First(p => p.Value is SweptRange).Parameter;
    public SweptRange Range => Parameters.Select(p => p.Value).OfType<SweptRange>().First();

    /// <summary>What has several values, with a sweep at each; null: nothing.</summary>
    public SweptParameter? Across => Parameters.FirstOrDefault(p => p.Value is EachValue).Parameter;
    public IReadOnlyList<decimal> AcrossValues => Parameters.Select(p => p.Value).OfType<EachValue>().FirstOrDefault()?.Values ?? [];
}

public enum SweepMeasure
{
    /// <summary>Where the class is entered on the way up.</summary>
    SwitchUp,
    /// <summary>Where it is left on the way down.</summary>
    SwitchDown,
    /// <summary>The former less the latter.</summary>
    HysteresisWidth,
}

/// <summary>A limit on a switching point or a width; at least one of the bounds. In a plan in the base unit of what is swept.</summary>
/// <param name="Class">The class that is entered on the way up; null: every switch.</param>
public sealed record SweepLimit(SweepMeasure Measure, string? Class, decimal? AtLeast, decimal? AtMost);
