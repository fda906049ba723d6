using HilRunner.Core.Time;
using HilRunner.Device.Waiting;
using HilRunner.Testing;

namespace HilRunner.Device.Tests.Waiting;

[Timing("a thread is to wake within half a millisecond")]
public sealed class BellTests
{
    [Test]
    public void No_ring_is_lost_however_it_falls()
    {
        const int rounds = 100_000;
        Bell bell = new();
        long rung = 0;
        long seen = 0;
        Thread waiter = new(() =>
        {
            bell.EnterThread();
            // Each value is rung for after it was set: whoever waits without a limit must come to see the last.
            while ((seen = Interlocked.Read(ref rung)) < 2 * rounds) { bell.Wait(null); }
            bell.LeaveThread();
        })
        { IsBackground = true };
        waiter.Start();
        Parallel.For(0, 2, _ =>
        {
            for (int i = 0; i < rounds; i++)
            {
                Interlocked.Increment(ref rung);
                bell.Ring();
                if (i % 1000 == 0) { Thread.Yield(); }
            }
        });
        Assert.That(waiter.Join(TimeSpan.FromSeconds(20)), $"it sleeps on at {seen} of {2 * rounds}");
        Assert.That(bell.Ring, Throws.Nothing, "nobody waits any more");
    }

    [Test]
    public void It_wakes_soon_after_the_time_and_not_before()
    {
        HostClock clock = new(TimeProvider.System);
        Bell bell = new();
        bell.EnterThread();
        List<double> lateMs = [];
        for (int i = 0; i < 200; i++)
        {
            HostTime before = clock.Now;
            bell.Wait(1_300_000);
            lateMs.Add((clock.Now - before) / 1e6 - 1.3);
        }
        bell.LeaveThread();
        // In the best of ten parts: a busy machine may stall the others.
        double[] medians = [.. lateMs.Chunk(20).Select(part => part.Order().ElementAt(10))];
        TestContext.Out.WriteLine(FormattableString.Invariant($"woken late by median {medians.Min():0.000} to {medians.Max():0.000} ms a part"));
        Assert.That(lateMs.Min(), Is.GreaterThanOrEqualTo(0));
        if (OperatingSystem.IsLinux()) { Assert.That(medians.Min(), Is.LessThan(0.5)); }
    }
}
