using System.Runtime.InteropServices;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Pacing;

/// <summary>
/// Waits on the pacing thread until a moment on the host's clock: sleeps on an absolute schedule with the thread's timer slack
/// at 1 ns, then spins the last stretch where the rate leaves time for it. This is the one place where a thread sleeps.
/// Measured beside other ways in tests/HilRunner.Benchmarks (pacing).
/// </summary>
public sealed partial class PacingClock
{
    private const int ClockMonotonic = 1;
    private const int AbsoluteTime = 1;
    private const int SetTimerSlack = 29;
    private const long LongestSleepNs = 50_000_000;

    private readonly HostClock _clock;
    private readonly long _spinNs;
    private readonly bool _posix = OperatingSystem.IsLinux();

    /// <param name="clock">The clock that waits are measured on.</param>
    /// <param name="spin">How long before the moment to stop sleeping and spin; zero at rates above about 1 kHz, where spinning
    /// would hold a whole core.</param>
    public PacingClock(HostClock clock, TimeSpan spin)
    {
        _clock = clock;
        _spinNs = spin.Ticks * 100;
    }

    /// <summary>Called once on the thread that will wait.</summary>
    public void EnterThread()
    {
        if (_posix)
        {
            _ = prctl(SetTimerSlack, 1, 0, 0, 0);
            ShortSlice.Ask();
        }
        Thread.CurrentThread.Priority = ThreadPriority.Highest;
    }

    /// <summary>Returns at or just after <paramref name="due"/>, or earlier when <paramref name="stop"/> says so (seen every 50 ms).</summary>
    public void WaitUntil(HostTime due, Func<bool> stop)
    {
        long sleepUntil = due.Ns - _spinNs;
        for (long now = _clock.Now.Ns; now < sleepUntil; now = _clock.Now.Ns)
        {
            if (stop()) { return; }
            SleepUntil(Math.Min(sleepUntil, now + LongestSleepNs), now);
        }
        while (_clock.Now.Ns < due.Ns) { Thread.SpinWait(20); }
    }

    private void SleepUntil(long untilNs, long nowNs)
    {
        if (_posix)
        {
            var until = new TimeSpec { Seconds = untilNs / 1_000_000_000, Nanoseconds = untilNs % 1_000_000_000 };
            _ = clock_nanosleep(ClockMonotonic, AbsoluteTime, in until, 0);
            return;
        }
        using var timer = new ManualResetEventSlim();
        timer.Wait(TimeSpan.FromTicks(Math.Max(1, (untilNs - nowNs) / 100)));
    }

    [StructLayout(LayoutKind.Sequential)]
    private struct TimeSpec
    {
        public long Seconds;
        public long Nanoseconds;
    }

    [LibraryImport("libc")]
    private static partial int clock_nanosleep(int clock, int flags, in TimeSpec request, nint remaining);

    [LibraryImport("libc")]
    private static partial int prctl(int option, ulong a, ulong b, ulong c, ulong d);
}
