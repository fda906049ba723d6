using HilRunner.Core.Time;

namespace HilRunner.Transport.Framing;

/// <summary>Takes whole, checked frames.</summary>
public interface IFrameSink
{
    /// <param name="body">What the frame holds: type field and fields, or the text of a line. Without delimiters and check sum; valid during the call.</param>
    /// <param name="firstByte">Arrival of the read that held the frame's first byte (not a delimiter before it).</param>
    /// <param name="lastByte">Arrival of the read that held its last byte.</param>
    /// <param name="wireLength">Bytes from the first to the last on the wire, its own delimiter included.</param>
    void OnFrame(ReadOnlySpan<byte> body, HostTime firstByte, HostTime lastByte, int wireLength);
}
