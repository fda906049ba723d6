using HilRunner.Core.Time;

namespace HilRunner.Core.Messages;

/// <summary>
/// What a message from the device is for. <see cref="Ignored"/> is known and of no interest: no sink is told of it.
/// </summary>
public enum MessageKind { Decision, Credit, Booted, Sample, Features, Identity, Clock, Counters, Ignored }

/// <summary>
/// One message from the device, decoded. A value: decoding a decision allocates nothing in steady state, class names come
/// from a bounded table.
/// </summary>
public readonly struct DeviceMessage
{
    public required MessageKind Kind { get; init; }
    /// <summary>For a decision: index into <see cref="Rigs.DeviceDescription.Outputs"/>.</summary>
    public int Output { get; init; }
    /// <summary>
    /// For a decision: the device's class name after the rig's mapping, which is closed where there is one; null: the device said
    /// a value that it does not hold, see <see cref="UnknownClass"/>.
    /// </summary>
    public string? Class { get; init; }
    /// <summary>For a decision without a class: the value that the rig's mapping does not hold, as text.</summary>
    public string? UnknownClass { get; init; }
    /// <summary>
    /// The device's own sample number (0 = the first sample after begin, lead included), as sent: not unwrapped. A batch stands
    /// for its last sample.
    /// </summary>
    public long? N { get; init; }
    /// <summary><see cref="N"/> begins anew after so many samples; 0: it does not wrap.</summary>
    public long NWraps { get; init; }
    /// <summary>The device's own number of this message, as sent: not unwrapped.</summary>
    public ulong? Seq { get; init; }
    /// <summary><see cref="Seq"/> begins anew after so many messages; 0: it does not wrap.</summary>
    public ulong SeqWraps { get; init; }
    /// <summary>The device's clock as sent: not unwrapped. In units of the rig's clock.</summary>
    public ulong? Ticks { get; init; }
    public double? Confidence { get; init; }
    /// <summary>For a clock answer: the token asked with.</summary>
    public ulong? Token { get; init; }
    /// <summary>
    /// For a measured sample: counts in the order of the input channels; for features: values in the order of <see cref="Rigs.Says.FeatureNames"/>. The decoder's own buffer: copy to keep.
    /// </summary>
    public ReadOnlyMemory<double> Values { get; init; }
    /// <summary>
    /// For identity and banner: what was said (product, version, image, slot …); for counters: each with its value.
    /// </summary>
    public IReadOnlyDictionary<string, string>? Fields { get; init; }
    /// <summary>Arrival of the read that held the message's first byte.</summary>
    public required HostTime FirstByte { get; init; }
    /// <summary>Arrival of the read that held its last byte.</summary>
    public required HostTime LastByte { get; init; }
    /// <summary>Length on the wire in bytes, delimiters included.</summary>
    public required int WireLength { get; init; }
}

public interface IMessageSink
{
    void OnMessage(in DeviceMessage message);
}

/// <summary>Counts since the decoder was made. Every received byte is in a message, an unknown or bad frame, or still pending.</summary>
public readonly record struct DecoderCounts(long Messages, long FramesBad, long LinesUnknown, long BytesDiscarded);

/// <summary>Turns received bytes into messages. Garbage is counted, never an exception and never a decision.</summary>
public interface IDeviceDecoder : IDisposable
{
    void Feed(ReadOnlySpan<byte> bytes, HostTime arrival, IMessageSink sink);
    DecoderCounts Counts { get; }

    /// <summary>All that was received has been fed. What decodes from a record looks whether the record ends here, too.</summary>
    /// <exception cref="BadInputException">It goes on, or says that there was more.</exception>
    void Finish() { }

    /// <summary>Why nothing is decoded any more (an adapter program died); null while it works. What is fed then is counted as bad.</summary>
    string? Failure => null;
}

/// <summary>Makes decoders for what a device said.</summary>
public interface IDecoderSource : IDisposable
{
    IDeviceDecoder NewDecoder();
}

/// <summary>
/// Speaks a device's format, as its rig describes it: makes the frames to send and the decoder for what comes back.
/// Values for templates: <c>n</c>, channel names, <c>rate_mhz</c> (millihertz), <c>token</c>.
/// </summary>
public interface IDeviceFormat : IDecoderSource
{
    /// <summary>The begin message, framed; empty when the rig has none.</summary>
    byte[] Begin(SampleRate rate, long sampleCount);
    /// <summary>One frame with <paramref name="count"/> samples from index <paramref name="first"/> of counts[channel][sample].</summary>
    byte[] Samples(IReadOnlyList<int[]> counts, int first, int count);
    byte[] End(long sampleCount);
    /// <summary>Any other message of the rig (identity or clock question, poll, reset, wake), placeholders filled, framed.</summary>
    byte[] Message(Rigs.OutgoingMessage message, ulong token = 0);
}

public interface IDeviceFormatFactory
{
    /// <exception cref="InvalidDataException">The description cannot be used; says why.</exception>
    IDeviceFormat Create(Rigs.DeviceDescription device);

    /// <summary>Decodes a stored capture of an adapter's device by what the adapter said of it, without the program.</summary>
    /// <param name="path">The messages that <see cref="Keep"/> wrote; null: there is no capture, and nothing to decode.</param>
    /// <param name="captureSha256">Of the capture beside them: those of another one are not believed.</param>
    IDecoderSource Kept(Rigs.DeviceDescription device, string? path, string captureSha256);

    /// <summary>Starts the device's adapter program, has it decode a capture, and keeps what it says.</summary>
    /// <exception cref="InvalidDataException">The program cannot be started.</exception>
    void Keep(Rigs.DeviceDescription device, Capture.ICaptureReader capture, string captureSha256, Stream kept);
}
