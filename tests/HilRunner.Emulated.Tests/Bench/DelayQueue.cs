using HilRunner.Core.Time;

namespace HilRunner.Emulated.Tests.Bench;

/// <summary>
/// One direction of a slow link: hands every piece on after its delay, in order. The delay is at least what is asked, by the
/// scheduler's grain more; what it really was, the proxy's stamps say.
/// </summary>
internal sealed class DelayQueue : IDisposable
{
    private const int MostWaiting = 100_000;
    private readonly object _gate = new();
    private readonly Queue<(HostTime Release, byte[] Bytes)> _waiting = new();
    private readonly Func<TimeSpan> _delay;
    private readonly Action<byte[]> _handOn;
    private readonly Thread _thread;
    private HostTime _last;
    private bool _disposed;

    public DelayQueue(string name, Func<TimeSpan> delay, Action<byte[]> handOn)
    {
        (_delay, _handOn) = (delay, handOn);
        _thread = new(Run) { Name = name, IsBackground = true };
        _thread.Start();
    }

    public void Add(ReadOnlySpan<byte> bytes)
    {
        lock (_gate)
        {
            if (_waiting.Count == MostWaiting) { throw new InvalidOperationException("the slow link is full"); }
            HostTime release = Emulator.Clock.Now + _delay();
            _last = release > _last ? release : _last;
            _waiting.Enqueue((_last, bytes.ToArray()));
            Monitor.PulseAll(_gate);
        }
    }

    public void Dispose()
    {
        lock (_gate)
        {
            _disposed = true;
            Monitor.PulseAll(_gate);
        }
        _thread.Join(TimeSpan.FromSeconds(5));
    }

    private void Run()
    {
        while (Next() is { } bytes) { _handOn(bytes); }
    }

    private byte[]? Next()
    {
        lock (_gate)
        {
            while (!_disposed)
            {
                if (_waiting.Count == 0)
                {
                    Monitor.Wait(_gate);
                    continue;
                }
                long leftNs = _waiting.Peek().Release - Emulator.Clock.Now;
                if (leftNs <= 0) { return _waiting.Dequeue().Bytes; }
                Monitor.Wait(_gate, (int)(leftNs / 1_000_000) + 1);
            }
            return null;
        }
    }
}
