using System.Diagnostics;
using HilRunner.Engine.Pacing;

namespace HilRunner.Engine.Tests.Truth;

/// <summary>How late the machine wakes a thread that only sleeps: what neighbours on it do, seen without any part of the tool.</summary>
internal sealed class WakeWatch : IDisposable
{
    private const double Share = 0.995;
    private static readonly TimeSpan s_nap = TimeSpan.FromMilliseconds(5);
    private readonly LatenessHistogram _late = new();
    private readonly CancellationTokenSource _over = new();
    private readonly Thread _sleeper;

    public WakeWatch()
    {
        _sleeper = new Thread(Watch) { IsBackground = true };
        _sleeper.Start();
    }

    /// <summary>In 99.5 % of the cases, ns.</summary>
    public long Close()
    {
        _over.Cancel();
        _sleeper.Join();
        return _late.Quantile(Share) ?? 0;
    }

    public void Dispose()
    {
        if (!_over.IsCancellationRequested) { Close(); }
        _over.Dispose();
    }

    private void Watch()
    {
        while (!_over.IsCancellationRequested)
        {
            long begun = Stopwatch.GetTimestamp();
            Thread.Sleep(s_nap);
            _late.Add(Math.Max(0, (Stopwatch.GetElapsedTime(begun) - s_nap).Ticks * 100));
        }
    }
}
