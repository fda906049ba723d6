using HilRunner.Core.Time;

namespace HilRunner.Transport.Framing;

/// <summary>
/// For framings in which one byte value ends a frame and never stands inside: collects up to it, then takes the code and the check
/// sum off. After damage the next delimiter is a fresh start, so a good frame is never lost to a bad one before it.
/// </summary>
internal sealed class DelimitedDeframer(byte delimiter, int maxLength, FrameCheck check, DelimitedDeframer.Unpack unpack) : Deframer
{
    /// <summary>Decodes in place and returns the length, or −1 when the bytes cannot be such a frame.</summary>
    public delegate int Unpack(Span<byte> frame);

    private readonly byte[] _buffer = new byte[maxLength];
    private int _length;
    private bool _overlong;
    private HostTime _firstByte;
    private long _frames, _framesBad, _bytesInFrames, _bytesDiscarded, _bytesIdle;

    public override FrameCounts Counts => new(_frames, _framesBad, _bytesInFrames, _bytesDiscarded, _bytesIdle);

    public override int Pending => _length;

    public override void Feed(ReadOnlySpan<byte> bytes, HostTime arrival, IFrameSink sink)
    {
        while (!bytes.IsEmpty)
        {
            int end = bytes.IndexOf(delimiter);
            Take(end < 0 ? bytes : bytes[..end], arrival);
            if (end < 0) { return; }
            Finish(arrival, sink);
            bytes = bytes[(end + 1)..];
        }
    }

    private void Take(ReadOnlySpan<byte> bytes, HostTime arrival)
    {
        if (bytes.IsEmpty) { return; }
        if (!_overlong && bytes.Length > _buffer.Length - _length)
        {
            _overlong = true;
            _framesBad++;
            _bytesDiscarded += _length;
            _length = 0;
        }
        if (_overlong)
        {
            _bytesDiscarded += bytes.Length;
            return;
        }
        if (_length == 0) { _firstByte = arrival; }
        bytes.CopyTo(_buffer.AsSpan(_length));
        _length += bytes.Length;
    }

    /// <summary>The delimiter was reached; it belongs to what is before it.</summary>
    private void Finish(HostTime arrival, IFrameSink sink)
    {
        int wireLength = _length + 1;
        if (_overlong)
        {
            _overlong = false;
            _bytesDiscarded++;
            return;
        }
        if (_length == 0)
        {
            _bytesIdle++;
            return;
        }
        Span<byte> frame = _buffer.AsSpan(0, _length);
        _length = 0;
        int unpacked = unpack(frame);
        if (unpacked < 0 || !check.Holds(frame[..unpacked]))
        {
            _framesBad++;
            _bytesDiscarded += wireLength;
            return;
        }
        _frames++;
        _bytesInFrames += wireLength;
        sink.OnFrame(frame[..(unpacked - check.Length)], _firstByte, arrival, wireLength);
    }
}
