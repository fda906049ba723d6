using HilRunner.Core.Time;

namespace HilRunner.Device;

/// <summary>Messages on their way out, each due at a time; those due together keep their order. Bounded: what does not fit is counted.</summary>
internal sealed class Outbox(int capacity)
{
    private readonly PriorityQueue<byte[], (long DueNs, long Order)> _queue = new();
    private long _order;

    public long Dropped { get; private set; }

    public void Add(HostTime due, ReadOnlySpan<byte> message)
    {
        if (_queue.Count >= capacity)
        {
            Dropped++;
            return;
        }
        _queue.Enqueue(message.ToArray(), (due.Ns, _order++));
    }

    /// <summary>False when there is nothing at all; otherwise when the next one is due.</summary>
    public bool TryPeek(out HostTime due)
    {
        bool any = _queue.TryPeek(out _, out (long DueNs, long) key);
        due = new(key.DueNs);
        return any;
    }

    public byte[] Take() => _queue.Dequeue();

    public void Clear() => _queue.Clear();
}
