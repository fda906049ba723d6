using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Decoding;

/// <summary>What the numbers in a device's messages count, and where they begin anew.</summary>
/// <param name="SamplesPerMessage">Samples that a batch stands for.</param>
/// <param name="Bits">Widths of the counters of text messages, by group.</param>
internal sealed record Numbering(int SamplesPerMessage, IReadOnlyDictionary<string, int> Bits)
{
    public static Numbering Of(DeviceDescription device) => new(device.Hears.SamplesPerMessage, device.Says.Bits);

    /// <summary>How many samples one step of <c>n</c> or <c>batch</c> stands for.</summary>
    public long SamplesOf(string name) => name == "batch" ? SamplesPerMessage : 1;

    /// <summary>A sample's number from the value of <c>n</c> or <c>batch</c>: a batch stands for its last sample.</summary>
    public long SampleOf(string name, long value) => name == "batch" ? value * SamplesPerMessage + SamplesPerMessage - 1 : value;

    /// <summary>After how many of what it counts a text's counter begins anew; 0: it does not.</summary>
    public ulong WrapsOf(string group) => Bits.TryGetValue(group, out int bits) ? Span(bits) : 0;

    /// <summary>2 to the power of bits; 0 for 64 and more: such a counter never wraps.</summary>
    public static ulong Span(int bits) => bits >= 64 ? 0 : 1UL << bits;
}
