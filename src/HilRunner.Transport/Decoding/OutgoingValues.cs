namespace HilRunner.Transport.Decoding;

/// <summary>What a placeholder or field of an outgoing message may stand for.</summary>
internal enum OutgoingName { SampleNumber, BatchNumber, Channel, RateMilliHertz, Count, Token }

/// <summary>One placeholder, resolved.</summary>
/// <param name="Channel">Index of the channel; −1 for other names.</param>
internal readonly record struct OutgoingSource(OutgoingName Name, int Channel)
{
    /// <summary>A counter: in a field of any width it begins anew where the width ends.</summary>
    public bool Wraps => Name is OutgoingName.SampleNumber or OutgoingName.BatchNumber;
}

/// <summary>The values for one outgoing message.</summary>
/// <param name="Counts">[channel][sample], in device counts.</param>
/// <param name="First">Index of the message's first sample.</param>
/// <param name="Count">Samples in the message; for begin and end: in the whole stimulus.</param>
internal readonly record struct OutgoingValues(IReadOnlyList<int[]> Counts, int First, long Count, long RateMilliHertz, ulong Token)
{
    /// <summary>Most samples of a message of this device.</summary>
    public int SamplesPerMessage { get; init; } = 1;

    /// <param name="sample">Index within the message.</param>
    public Int128 Of(OutgoingSource source, int sample) => source.Name switch
    {
        OutgoingName.SampleNumber => First + sample,
        OutgoingName.BatchNumber => First / SamplesPerMessage,
        OutgoingName.Channel => Counts[source.Channel][First + sample],
        OutgoingName.RateMilliHertz => RateMilliHertz,
        OutgoingName.Count => Count,
        _ => Token,
    };
}
