using HilRunner.Core.Models;
using HilRunner.Core.Time;

namespace HilRunner.Device;

/// <summary>Decisions that the device is still thinking about, in order. Bounded: what does not fit is never made, and counted.</summary>
internal sealed class Thoughts(int capacity)
{
    private readonly Queue<(HostTime Due, ModelDecision Decision)> _queue = new();

    public long Dropped { get; private set; }

    public void Add(HostTime due, in ModelDecision decision)
    {
        if (_queue.Count < capacity) { _queue.Enqueue((due, decision)); }
        else { Dropped++; }
    }

    /// <summary>False when there is none; otherwise when the next one is to be made.</summary>
    public bool TryPeek(out HostTime due)
    {
        bool any = _queue.TryPeek(out var thought);
        due = thought.Due;
        return any;
    }

    public ModelDecision Take() => _queue.Dequeue().Decision;

    public void Clear() => _queue.Clear();
}
