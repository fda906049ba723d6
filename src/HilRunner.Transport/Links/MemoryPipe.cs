using HilRunner.Core.Time;

namespace HilRunner.Transport.Links;

/// <summary>One direction of a <see cref="MemoryLink"/>: a bounded ring of bytes between one writer and one reader thread.</summary>
internal sealed class MemoryPipe
{
    public const int CapacityBytes = 64 * 1024;
    private readonly byte[] _ring = new byte[CapacityBytes];
    private readonly object _gate = new();
    private int _start;
    private int _count;
    private bool _writerGone;
    private bool _readerGone;

    public enum End { Done, Full, WriterGone, ReaderGone }

    /// <summary>Takes all bytes, waiting for room up to the limit; <paramref name="done"/> says how many it took.</summary>
    public End Write(ReadOnlySpan<byte> bytes, TimeSpan limit, HostClock clock, out HostTime first, out int done)
    {
        first = clock.Now;
        done = 0;
        HostTime begin = first;
        lock (_gate)
        {
            while (true)
            {
                if (_writerGone) { return End.WriterGone; }
                if (_readerGone) { return End.ReaderGone; }
                int room = Math.Min(CapacityBytes - _count, bytes.Length - done);
                if (room > 0)
                {
                    if (done == 0) { first = clock.Now; }
                    Append(bytes.Slice(done, room));
                    done += room;
                    Monitor.PulseAll(_gate);
                }
                if (done == bytes.Length) { return End.Done; }
                int leftMs = WriteLimit.RemainingMs(limit, clock.Now - begin);
                if (!Monitor.Wait(_gate, leftMs) && _count == CapacityBytes && !_writerGone && !_readerGone) { return End.Full; }
            }
        }
    }

    /// <summary>Waits for bytes; 0 when there will be none: an end is gone.</summary>
    public int Read(Span<byte> into, out bool readerGone)
    {
        lock (_gate)
        {
            while (_count == 0 && !_writerGone && !_readerGone) { Monitor.Wait(_gate); }
            readerGone = _readerGone;
            if (_readerGone) { return 0; }
            int count = Math.Min(into.Length, _count);
            int atEnd = Math.Min(count, CapacityBytes - _start);
            _ring.AsSpan(_start, atEnd).CopyTo(into);
            _ring.AsSpan(0, count - atEnd).CopyTo(into[atEnd..]);
            _start = (_start + count) % CapacityBytes;
            _count -= count;
            Monitor.PulseAll(_gate);
            return count;
        }
    }

    public void CloseWriter()
    {
        lock (_gate)
        {
            _writerGone = true;
            Monitor.PulseAll(_gate);
        }
    }

    public void CloseReader()
    {
        lock (_gate)
        {
            _readerGone = true;
            Monitor.PulseAll(_gate);
        }
    }

    private void Append(ReadOnlySpan<byte> bytes)
    {
        int from = (_start + _count) % CapacityBytes;
        int atEnd = Math.Min(bytes.Length, CapacityBytes - from);
        bytes[..atEnd].CopyTo(_ring.AsSpan(from));
        bytes[atEnd..].CopyTo(_ring);
        _count += bytes.Length;
    }
}
