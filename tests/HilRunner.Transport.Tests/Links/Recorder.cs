using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Transport.Tests.Links;

/// <summary>Keeps what a link reports, and lets a test wait for it.</summary>
internal sealed class Recorder(Action? onReceived = null) : ILinkReceiver
{
    private readonly object _gate = new();
    private readonly List<byte> _bytes = [];
    private readonly List<HostTime> _stamps = [];
    private LinkException? _lost;
    private int _lostCount;
    private int _bytesAfterLoss;

    public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
    {
        onReceived?.Invoke();
        lock (_gate)
        {
            if (_lost is not null) { _bytesAfterLoss += bytes.Length; }
            _bytes.AddRange(bytes);
            _stamps.Add(arrival);
            Monitor.PulseAll(_gate);
        }
    }

    public void OnLost(LinkException cause, HostTime at)
    {
        lock (_gate)
        {
            _lost = cause;
            _lostCount++;
            _stamps.Add(at);
            Monitor.PulseAll(_gate);
        }
    }

    public int LostCount { get { lock (_gate) { return _lostCount; } } }
    public int BytesAfterLoss { get { lock (_gate) { return _bytesAfterLoss; } } }
    public IReadOnlyList<HostTime> Stamps { get { lock (_gate) { return [.. _stamps]; } } }
    public byte[] Bytes { get { lock (_gate) { return [.. _bytes]; } } }

    /// <summary>The bytes so far, once there are that many; fails the test when they do not come.</summary>
    public byte[] WaitForBytes(int count, double limitS = 10)
    {
        Assert.That(WaitUntil(() => _bytes.Count >= count, limitS), Is.True, () => $"{Bytes.Length} of {count} bytes came within {limitS} s; lost: {_lost?.Message}");
        return Bytes;
    }

    /// <summary>What ended the link; fails the test when nothing does.</summary>
    public LinkException WaitForLoss(double limitS = 2)
    {
        Assert.That(WaitUntil(() => _lost is not null, limitS), Is.True, $"no loss was reported within {limitS} s");
        return _lost!;
    }

    private bool WaitUntil(Func<bool> condition, double limitS)
    {
        long end = Environment.TickCount64 + (long)(limitS * 1000);
        lock (_gate)
        {
            while (!condition())
            {
                long left = end - Environment.TickCount64;
                if (left <= 0) { return false; }
                Monitor.Wait(_gate, (int)left);
            }
            return true;
        }
    }
}
