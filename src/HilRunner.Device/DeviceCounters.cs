namespace HilRunner.Device;

/// <summary>What the virtual device did and what its faults did, since its start: the truth that a rig's own counts are held against.</summary>
public sealed record DeviceCounters
{
    public long Boots { get; init; }
    /// <summary>Samples of a run that were classified.</summary>
    public long SamplesConsumed { get; init; }
    /// <summary>Samples that came outside a run (before begin, after end, after a reset).</summary>
    public long SamplesIgnored { get; init; }
    /// <summary>Samples of its own sensor.</summary>
    public long SamplesMeasured { get; init; }
    /// <summary>Messages that were answered with an error.</summary>
    public long MessagesRefused { get; init; }
    public long Decisions { get; init; }
    /// <summary>Clock questions that were not answered.</summary>
    public long AnswersLost { get; init; }
    /// <summary>Decisions, credit, measured samples and features that left the device.</summary>
    public long MessagesSaid { get; init; }
    /// <summary>Messages that were not said: a queue was full, or the other end took no bytes.</summary>
    public long MessagesDropped { get; init; }
    /// <summary>Bytes that came after the device hung.</summary>
    public long BytesVanished { get; init; }
    public long BytesLost { get; init; }
    public long BytesGarbled { get; init; }
    public long BytesDuplicated { get; init; }
}
