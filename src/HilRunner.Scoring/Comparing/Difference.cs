using HilRunner.Core.Scenarios;
using HilRunner.Core.Statistics;

namespace HilRunner.Scoring.Comparing;

public enum Change { NoneShown, Better, Worse, TooFew }

/// <summary>One measure of one class (of all, where it has none) on both builds, and whether it changed.</summary>
/// <param name="Output">"": of the device.</param>
/// <param name="Class">Null: all classes together, or the device.</param>
public sealed record Difference(Measure Measure, string Output, string? Class)
{
    public required Change Change { get; init; }
    /// <summary>Trials that say something: of a share the steady ones, of a latency those timed on both.</summary>
    public int Pairs { get; init; }
    public int Lost { get; init; }
    public int Gained { get; init; }
    public int Unsteady { get; init; }
    /// <summary>Two-sided, adjusted over the classes of this measure (Holm). Null where nothing was tested.</summary>
    public double? P { get; init; }
    /// <summary>Of a share, not adjusted: less conservative than the exact one.</summary>
    public double? MidP { get; init; }
    /// <summary>Candidate less baseline: a share, seconds, or a count a trial.</summary>
    public double? Shift { get; init; }
    /// <summary>95 % interval of the shift.</summary>
    public Interval? Interval { get; init; }
    /// <summary>The smallest drop that so many trials could have shown.</summary>
    public double? Smallest { get; init; }
    /// <summary>In words; "" where the figures say it.</summary>
    public string Why { get; init; } = "";
}
