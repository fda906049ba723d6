namespace HilRunner.Core.Runs;

/// <summary>What the rig did in one run, and what it was allowed. Reasons name what broke.</summary>
public sealed record RigHealth
{
    public long Sent { get; init; }
    public long Lost { get; init; }
    /// <summary>Samples sent later than the limit.</summary>
    public long Late { get; init; }
    /// <summary>Lateness (sent less due) that half of the samples did not exceed; null, as below, where nothing was due.</summary>
    public long? LateP50Ns { get; init; }
    public long? LateP99Ns { get; init; }
    public long? LateP999Ns { get; init; }
    public long? LateMaxNs { get; init; }
    public long FramesBad { get; init; }
    public long LinesUnknown { get; init; }
    public long Reconnects { get; init; }
    public long? ClockUncertaintyNs { get; init; }
    /// <summary>One sentence per broken health limit; empty: the rig was healthy.</summary>
    public IReadOnlyList<string> Faults { get; init; } = [];
    /// <summary>The run did not reach its end (killed, stopped, link lost); figures cover what there is.</summary>
    public bool Incomplete { get; init; }
}

/// <summary>What the device itself did, apart from its decisions.</summary>
/// <param name="Resets">Banners in mid-run.</param>
/// <param name="Silences">Times it fell silent, or stopped giving credit, while its link was there.</param>
/// <param name="ClockPpm">Rate of its clock against the host's; null when not known.</param>
public sealed record DeviceHealth(int Resets, int Silences, double? ClockPpm)
{
    /// <summary>Half-width of the interval around <see cref="ClockPpm"/> that holds the truth.</summary>
    public double? ClockPpmUncertainty { get; init; }
}
