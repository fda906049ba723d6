using CsCheck;
using HilRunner.Engine.Clocks;

namespace HilRunner.Engine.Tests.Clocks;

public class TickUnwrapperTests
{
    [TestCase(16, 20_000L)]
    [TestCase(32, 1_000_000_000L)]
    public void ARunningClockIsFollowedOverItsWraps(int bits, long jitterNs)
    {
        var gen = Gen.Select(Gen.Long[0, 1L << 20], Gen.Select(Gen.Long[1_000, 40_000_000_000], Gen.Long[0, jitterNs]).List[1, 50]);
        gen.Sample((start, steps) =>
        {
            var unwrapper = new TickUnwrapper(bits, 1000);
            ulong mask = (1UL << bits) - 1;
            long truth = start, host = 0;
            long first = (long)((ulong)truth & mask);
            Assert.That(unwrapper.Unwrap((ulong)truth & mask, new(0)).Ns, Is.EqualTo(first * 1000));
            foreach (var (step, jitter) in steps)
            {
                truth += step / 1000;
                host += step / 1000 * 1000;
                var found = unwrapper.Unwrap((ulong)truth & mask, new(host + jitter));
                Assert.That(found.Ns, Is.EqualTo((first + truth - start) * 1000));
            }
        });
    }

    [Test]
    public void AStampThatComesLateIsNotTakenForAWrap()
    {
        var unwrapper = new TickUnwrapper(32, 1000);
        unwrapper.Unwrap(1000, new(0));
        Assert.That(unwrapper.Unwrap(990, new(1000)).Ns, Is.EqualTo(990_000));
    }
}
