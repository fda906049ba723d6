using HilRunner.Core.Time;
using HilRunner.Device.Faults;
using HilRunner.Device.Waiting;

namespace HilRunner.Device;

/// <summary>
/// Bytes from the link on their way to the device's own thread: a bounded ring. While it is full the link's reader waits, so
/// nothing is lost; once the device no longer listens, bytes vanish and are counted, as in the receiver of a hung chip.
/// </summary>
/// <param name="arrived">Rung whenever there is something to take, before a full ring makes anyone wait.</param>
/// <param name="link">Bytes can be taken only when they have come through it.</param>
internal sealed class Inbox(int capacity, Bell arrived, LinkTime link)
{
    private readonly object _gate = new();
    private readonly byte[] _ring = new byte[capacity];
    // Which bytes of the ring arrive when; empty where the link takes no time. Bounded by the ring: no piece is empty.
    private readonly Queue<(HostTime Due, int Length)> _pieces = new();
    private int _pieceTaken;
    private int _start;
    private int _count;
    private bool _deaf;
    private long _vanished;

    public long Vanished
    {
        get { lock (_gate) { return _vanished; } }
    }

    /// <param name="sent">When they came to this end of the link, before the time that it is made to take.</param>
    public void Put(ReadOnlySpan<byte> bytes, HostTime sent)
    {
        lock (_gate)
        {
            HostTime due = link.Active ? link.Arrival(sent) : sent;
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
                if (link.Active) { _pieces.Enqueue((due, part)); }
                arrived.Ring();
            }
        }
    }

    /// <summary>Takes what has arrived by <paramref name="now"/>, from one piece at most where the link takes time.</summary>
    /// <returns>0 when there is nothing.</returns>
    public int Take(Span<byte> into, HostTime now)
    {
        lock (_gate)
        {
            int there = !link.Active ? _count
                : _pieces.TryPeek(out var piece) && piece.Due <= now ? piece.Length - _pieceTaken
                : 0;
            int part = Math.Min(into.Length, Math.Min(there, _ring.Length - _start));
            _ring.AsSpan(_start, part).CopyTo(into);
            _start = (_start + part) % _ring.Length;
            _count -= part;
            if (link.Active && part > 0)
            {
                _pieceTaken += part;
                if (_pieceTaken == _pieces.Peek().Length)
                {
                    _pieces.Dequeue();
                    _pieceTaken = 0;
                }
            }
            if (part > 0) { Monitor.PulseAll(_gate); }
            return part;
        }
    }

    /// <summary>False when nothing is on its way; otherwise when the next bytes arrive. Never where the link takes no time.</summary>
    public bool TryPeek(out HostTime due)
    {
        due = default;
        if (!link.Active) { return false; }
        lock (_gate)
        {
            bool any = _pieces.TryPeek(out var piece);
            due = piece.Due;
            return any;
        }
    }

    /// <summary>From now on everything vanishes; whoever waits goes on.</summary>
    public void Close()
    {
        lock (_gate)
        {
            _vanished += _count;
            _count = 0;
            _pieces.Clear();
            _pieceTaken = 0;
            _deaf = true;
            Monitor.PulseAll(_gate);
        }
    }
}
