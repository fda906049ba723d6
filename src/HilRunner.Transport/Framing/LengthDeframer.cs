using HilRunner.Core.Rigs;
using HilRunner.Core.Time;

namespace HilRunner.Transport.Framing;

/// <summary>
/// Finds frames by sync word and length. When a candidate turns out to be none (length not possible, check sum wrong) only its first byte
/// is given up and the search goes on at the next one, so a good frame inside what looked like a bad one is found. It is then handed over late
/// (its arrival times stay right): at most one longest frame late, hence a tight longest frame in the rig is worth having.
/// </summary>
internal sealed class LengthDeframer(FramingSpec spec, FrameCheck check) : Deframer
{
    private readonly ReadOnlyMemory<byte> _sync = spec.Sync;
    private readonly int _header = spec.Sync.Length + FieldValue.Size(spec.LengthField);
    private readonly int _shortestBody = spec.TypeField is { } type ? FieldValue.Size(type) : 0;
    // Twice the longest frame, so that bytes are moved down once a frame's length, not at every feed.
    private readonly byte[] _buffer = new byte[2 * spec.MaxLength];
    private readonly HostTime[] _arrivals = new HostTime[2 * spec.MaxLength];
    private int _start;
    private int _end;
    /// <summary>Bytes from the start that still belong to a candidate that was counted bad.</summary>
    private int _counted;
    private bool _inGarbage;
    private long _frames, _framesBad, _bytesInFrames, _bytesDiscarded;

    public override FrameCounts Counts => new(_frames, _framesBad, _bytesInFrames, _bytesDiscarded, 0);

    public override int Pending => _end - _start;

    public override void Feed(ReadOnlySpan<byte> bytes, HostTime arrival, IFrameSink sink)
    {
        while (!bytes.IsEmpty)
        {
            if (_end == _buffer.Length) { MoveDown(); }
            int taken = Math.Min(bytes.Length, _buffer.Length - _end);
            bytes[..taken].CopyTo(_buffer.AsSpan(_end));
            _arrivals.AsSpan(_end, taken).Fill(arrival);
            _end += taken;
            bytes = bytes[taken..];
            while (TryStep(sink)) { }
        }
    }

    /// <summary>A pending candidate is no longer than the longest frame: half of the buffer becomes free.</summary>
    private void MoveDown()
    {
        int pending = _end - _start;
        _buffer.AsSpan(_start, pending).CopyTo(_buffer);
        _arrivals.AsSpan(_start, pending).CopyTo(_arrivals);
        (_start, _end) = (0, pending);
    }

    /// <summary>Takes one frame or some garbage from the start; false when more bytes are needed first.</summary>
    private bool TryStep(IFrameSink sink)
    {
        ReadOnlySpan<byte> pending = _buffer.AsSpan(_start, _end - _start);
        if (pending.IsEmpty) { return false; }
        ReadOnlySpan<byte> sync = _sync.Span;
        int compared = Math.Min(sync.Length, pending.Length);
        if (!pending[..compared].SequenceEqual(sync[..compared]))
        {
            int next = pending[1..].IndexOf(sync[0]);
            Discard(next < 0 ? pending.Length : next + 1);
            return true;
        }
        if (pending.Length < _header) { return false; }
        Int128 body = FieldValue.ReadInteger(spec.LengthField, pending[sync.Length..]) + spec.LengthAdd;
        Int128 whole = _header + body + check.Length;
        if (body < _shortestBody || whole > spec.MaxLength) { return Reject(_header); }
        int length = (int)whole;
        if (pending.Length < length) { return false; }
        ReadOnlySpan<byte> frame = pending[..length];
        if (!check.Holds(spec.CrcCoversHeader ? frame : frame[_header..])) { return Reject(length); }
        HostTime firstByte = _arrivals[_start];
        HostTime lastByte = _arrivals[_start + length - 1];
        _start += length;
        _counted = 0;
        _inGarbage = false;
        _frames++;
        _bytesInFrames += length;
        sink.OnFrame(frame[_header..^check.Length], firstByte, lastByte, length);
        return true;
    }

    private bool Reject(int length)
    {
        // A sync word that appears by chance inside a frame already counted bad is not another bad frame.
        if (_counted == 0)
        {
            _framesBad++;
            _counted = length;
            _inGarbage = true;
        }
        Discard(1);
        return true;
    }

    private void Discard(int bytes)
    {
        if (!_inGarbage)
        {
            _inGarbage = true;
            _framesBad++;
        }
        _counted = Math.Max(0, _counted - bytes);
        _start += bytes;
        _bytesDiscarded += bytes;
    }
}
