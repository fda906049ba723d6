using HilRunner.Core.Time;
using HilRunner.Engine.Pacing;

namespace HilRunner.Engine.Tests.Pacing;

public class PacingClockTests
{
    private static readonly HostClock s_clock = new(TimeProvider.System);

    [Test]
    public void ReturnsAtOrAfterTheMomentAndCountsTheWakeUp()
    {
        var pacing = new PacingClock(s_clock, TimeSpan.FromMilliseconds(0.2));
        for (int wait = 1; wait <= 20; wait++)
        {
            HostTime due = s_clock.Now + TimeSpan.FromMilliseconds(2);
            pacing.WaitUntil(due, () => false);
            Assert.That(s_clock.Now, Is.GreaterThanOrEqualTo(due));
            Assert.That(pacing.Wakeups.Count, Is.EqualTo(wait));
        }
    }

    [Test]
    public void ASleepIsCountedFromItsOwnEndNotFromTheSpin()
    {
        // The sleep ends 1 ms before the moment: by the moment it had been over for that long, had it been on time.
        var pacing = new PacingClock(s_clock, TimeSpan.FromMilliseconds(1));
        HostTime begin = s_clock.Now;
        HostTime due = begin + TimeSpan.FromMilliseconds(5);
        pacing.WaitUntil(due, () => false);
        long latest = s_clock.Now - due + 1_000_000;
        Assert.That(pacing.Wakeups.LargestNs, Is.GreaterThanOrEqualTo(0).And.LessThanOrEqualTo(latest));
        Assert.That(pacing.Wakeups.LargestNs, Is.GreaterThan(0), "no sleep returns in the nanosecond it should");
    }

    [Test]
    public void AMomentThatHasPassedIsNotSleptFor()
    {
        var pacing = new PacingClock(s_clock, TimeSpan.Zero);
        pacing.WaitUntil(s_clock.Now, () => false);
        Assert.That(pacing.Wakeups.Count, Is.Zero);
    }

    [Test]
    public void LongWaitsLookForTheStopAndCountEachSleep()
    {
        var pacing = new PacingClock(s_clock, TimeSpan.Zero);
        HostTime due = s_clock.Now + TimeSpan.FromSeconds(60);
        int asked = 0;
        pacing.WaitUntil(due, () => ++asked > 3);
        Assert.That(asked, Is.EqualTo(4));
        Assert.That(pacing.Wakeups.Count, Is.EqualTo(3));
        Assert.That(s_clock.Now, Is.LessThan(due));
    }
}
