using HilRunner.Core.Time;

namespace HilRunner.Device;

/// <summary>A message in bytes, and the decision that it reports; null: it reports none.</summary>
/// <param name="IsCounted">It was not asked for: the device counts it when it hands it to its link.</param>
internal readonly record struct OutgoingBytes(byte[] Bytes, MadeDecision? Decision, bool IsCounted);

/// <summary>Messages on their way out, each due at a time; those due together keep their order. Bounded: what does not fit is counted.</summary>
internal sealed class Outbox(int capacity)
{
    private readonly PriorityQueue<OutgoingBytes, (long DueNs, long Order)> _queue = new();
    private long _order;

    public long Dropped { get; private set; }

    public void Add(HostTime due, in OutgoingBytes message)
    {
        if (_queue.Count >= capacity)
        {
            Dropped++;
            return;
        }
        _queue.Enqueue(message, (due.Ns, _order++));
    }

    /// <summary>False when there is nothing at all; otherwise when the next one is due.</summary>
    public bool TryPeek(out HostTime due)
    {
        bool any = _queue.TryPeek(out _, out (long DueNs, long) key);
        due = new(key.DueNs);
        return any;
    }

    public OutgoingBytes Take() => _queue.Dequeue();

    public void Clear() => _queue.Clear();
}
