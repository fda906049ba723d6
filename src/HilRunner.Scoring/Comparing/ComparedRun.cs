using HilRunner.Core.Runs;

namespace HilRunner.Scoring.Comparing;

/// <summary>A run of one of two builds that are compared. It reached its end, on a healthy rig.</summary>
public sealed record ComparedRun
{
    /// <summary>Its name; of a varied scenario with the values.</summary>
    public required string Scenario { get; init; }
    /// <summary>What was played: hashes of scenario and recordings. Runs of one scenario with another motion are not paired.</summary>
    public required string Motion { get; init; }
    public int Repeat { get; init; } = 1;
    public required IReadOnlyList<OutputScore> Outputs { get; init; }
    public required DeviceHealth Device { get; init; }
    /// <summary>Whether report latencies can be known in it.</summary>
    public bool ReportKnown { get; init; }
    /// <summary>Where its report stands, for whoever lists trials.</summary>
    public string Folder { get; init; } = "";
}
