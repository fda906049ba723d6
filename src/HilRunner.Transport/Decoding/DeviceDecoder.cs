using HilRunner.Core.Messages;
using HilRunner.Core.Time;
using HilRunner.Transport.Framing;

namespace HilRunner.Transport.Decoding;

/// <summary>
/// Frames the stream and tries every message on each frame. One frame may hold several outputs' decisions: each list of formats is tried, within a
/// list the first that matches is taken. A frame that nothing matches is counted unknown, unless it is one of those that are of
/// no interest.
/// </summary>
internal sealed class DeviceDecoder(
    Deframer deframer, IReadOnlyList<IReadOnlyList<MessageFormat>> formats,
    IReadOnlyList<MessageFormat> ignored) : IDeviceDecoder, IFrameSink
{
    private readonly MessageFormat[][] _formats = [.. formats.Select(list => list.ToArray())];
    private IMessageSink? _sink;
    private long _messages, _unknown;

    public DecoderCounts Counts
    {
        get
        {
            FrameCounts frames = deframer.Counts;
            return new(_messages, frames.FramesBad, _unknown, frames.BytesDiscarded);
        }
    }

    public void Feed(ReadOnlySpan<byte> bytes, HostTime arrival, IMessageSink sink)
    {
        _sink = sink;
        try { deframer.Feed(bytes, arrival, this); }
        finally { _sink = null; }
    }

    public void OnFrame(ReadOnlySpan<byte> body, HostTime firstByte, HostTime lastByte, int wireLength)
    {
        var stamp = new FrameStamp(firstByte, lastByte, wireLength);
        int found = 0;
        foreach (MessageFormat[] list in _formats)
        {
            foreach (MessageFormat format in list)
            {
                int decoded = format.Decode(body, stamp, _sink!);
                found += decoded;
                if (decoded > 0) { break; }
            }
        }
        _messages += found;
        if (found == 0 && !IsIgnored(body, stamp)) { _unknown++; }
    }

    private bool IsIgnored(ReadOnlySpan<byte> body, in FrameStamp stamp)
    {
        foreach (MessageFormat format in ignored)
        {
            if (format.Decode(body, stamp, _sink!) > 0) { return true; }
        }
        return false;
    }

    public void Dispose()
    {
        // Holds memory only.
    }
}
