namespace HilRunner.Core.Rigs;

/// <summary>What the numbers in a device's messages count, and where they begin anew.</summary>
/// <param name="SamplesPerMessage">Samples that a batch stands for.</param>
/// <param name="Bits">Widths of the counters of text messages, by group.</param>
public sealed record Numbering(int SamplesPerMessage, IReadOnlyDictionary<string, int> Bits)
{
    /// <summary>Wider than this a number of samples begins anew in no run.</summary>
    private const int NeverWraps = 48;

    /// <summary>Names of a sample's number: of a sample, or of the message that held it.</summary>
    public static IReadOnlyList<string> Names { get; } = ["n", "batch"];

    /// <summary>Of a device's messages.</summary>
    public static Numbering Of(DeviceDescription device)
    {
        ArgumentNullException.ThrowIfNull(device);
        return new(device.Hears.SamplesPerMessage, device.Says.Bits);
    }

    /// <summary>How many samples one step of <c>n</c> or <c>batch</c> stands for.</summary>
    public long SamplesOf(string name) => name == "batch" ? SamplesPerMessage : 1;

    /// <summary>A sample's number from the value of <c>n</c> or <c>batch</c>: a batch stands for its last sample.</summary>
    public long SampleOf(string name, long value) => name == "batch" ? value * SamplesPerMessage + SamplesPerMessage - 1 : value;

    /// <summary>After how many samples the number of a message begins anew; 0: it has none, or never does within a run.</summary>
    public long SamplesUntilWrap(IncomingMessage message)
    {
        ArgumentNullException.ThrowIfNull(message);
        if (message.Names.FirstOrDefault(Names.Contains) is not { } name) { return 0; }
        return message.Layout is { } layout
            ? SamplesUntilWrap(layout.Fields.Concat(layout.Repeat).First(f => f.Name == name)) : SamplesUntilWrap(name);
    }

    /// <summary>The same of a group of a text message.</summary>
    public long SamplesUntilWrap(string group) => (long)WrapsOf(group) * SamplesOf(group);

    /// <summary>The same of a binary field.</summary>
    public long SamplesUntilWrap(BinaryField field)
    {
        ArgumentNullException.ThrowIfNull(field);
        int bits = 8 * field.Bytes;
        return bits >= NeverWraps ? 0 : (1L << bits) * (long)field.Scale * SamplesOf(field.Name);
    }

    /// <summary>After how many of what it counts a text's counter begins anew; 0: it does not.</summary>
    public ulong WrapsOf(string group) => Bits.TryGetValue(group, out int bits) ? Span(bits) : 0;

    /// <summary>2 to the power of bits; 0 for 64 and more: such a counter never wraps.</summary>
    public static ulong Span(int bits) => bits >= 64 ? 0 : 1UL << bits;
}
