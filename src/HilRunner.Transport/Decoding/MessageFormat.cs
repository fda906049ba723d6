using HilRunner.Core.Messages;
using HilRunner.Core.Time;

namespace HilRunner.Transport.Decoding;

/// <summary>One message of the device: knows its own and takes it apart. For one decoder.</summary>
internal abstract class MessageFormat
{
    /// <summary>Hands over what the frame says and returns how many messages that was; 0 when it is not this message.</summary>
    public abstract int Decode(ReadOnlySpan<byte> body, in FrameStamp stamp, IMessageSink sink);
}

/// <summary>Where and when a frame was received.</summary>
internal readonly record struct FrameStamp(HostTime FirstByte, HostTime LastByte, int WireLength);
