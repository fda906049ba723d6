namespace HilRunner.Device;

/// <summary>
/// Bytes from the link on their way to the device's own thread: a bounded ring. While it is full the link's reader waits, so
/// nothing is lost; once the device no longer listens, bytes vanish and are counted, as in the receiver of a hung chip.
/// </summary>
/// <param name="arrived">Set whenever there is something to take, before a full ring makes anyone wait.</param>
internal sealed class Inbox(int capacity, AutoResetEvent arrived)
{
    private readonly object _gate = new();
    private readonly byte[] _ring = new byte[capacity];
    private int _start;
    private int _count;
    private bool _deaf;
    private long _vanished;

    public long Vanished
    {
        get { lock (_gate) { return _vanished; } }
    }

    public void Put(ReadOnlySpan<byte> bytes)
    {
        lock (_gate)
        {
            while (!bytes.IsEmpty)
            {
                while (_count == _ring.Length && !_deaf) { Monitor.Wait(_gate); }
                if (_deaf)
                {
                    _vanished += bytes.Length;
                    return;
                }
                int at = (_start + _count) % _ring.Length;
                int part = Math.Min(bytes.Length, Math.Min(_ring.Length - _count, _ring.Length - at));
                bytes[..part].CopyTo(_ring.AsSpan(at));
                _count += part;
                bytes = bytes[part..];
                arrived.Set();
            }
        }
    }

    /// <returns>0 when there is nothing.</returns>
    public int Take(Span<byte> into)
    {
        lock (_gate)
        {
            int part = Math.Min(into.Length, Math.Min(_count, _ring.Length - _start));
            _ring.AsSpan(_start, part).CopyTo(into);
            _start = (_start + part) % _ring.Length;
            _count -= part;
            if (part > 0) { Monitor.PulseAll(_gate); }
            return part;
        }
    }

    /// <summary>From now on everything vanishes; whoever waits goes on.</summary>
    public void Close()
    {
        lock (_gate)
        {
            _vanished += _count;
            _count = 0;
            _deaf = true;
            Monitor.PulseAll(_gate);
        }
    }
}
