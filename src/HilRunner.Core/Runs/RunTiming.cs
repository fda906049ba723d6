namespace HilRunner.Core.Runs;

/// <summary>How the times of a run are known: the comparison of the device's clock, the host's stamps, and what held up playout.</summary>
public sealed record RunTiming
{
    /// <summary>Clock questions that were answered, over the whole run.</summary>
    public int Exchanges { get; init; }
    /// <summary>Clock questions without an answer.</summary>
    public int Unanswered { get; init; }
    /// <summary>Times the device's clock began anew: 1, and one more for each reset after which it was compared again.</summary>
    public int Epochs { get; init; }
    /// <summary>The smallest round trip of a clock question; null: none was answered.</summary>
    public long? LeastDelayNs { get; init; }
    /// <summary>Largest departure of the device's clock from an even rate that had to be allowed for; 0: it ran evenly.</summary>
    public long UnevenNs { get; init; }
    /// <summary>Time of one byte on the wire (start, data, parity and stop bits at the baud rate); null where the link has none.</summary>
    public long? ByteNs { get; init; }
    /// <summary>Taken off the arrival of decisions that are timed by it; null where none is.</summary>
    public long? LinkNs { get; init; }
    /// <summary>Where <see cref="LinkNs"/> comes from, in words: "half of the fastest of 4 answers to the identity question".</summary>
    public string LinkFrom { get; init; } = "";
    /// <summary>How late the host stamps an arrival at most, in 99.5 % of cases, as measured in the run. Null: not measured.</summary>
    public long? StampNs { get; init; }
    /// <summary>How often playout waited for credit when a sample was due.</summary>
    public long CreditWaits { get; init; }
    /// <summary>How long in all.</summary>
    public long CreditWaitNs { get; init; }
}
