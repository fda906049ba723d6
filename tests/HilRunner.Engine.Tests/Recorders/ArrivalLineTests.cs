using CsCheck;
using HilRunner.Core.Time;
using HilRunner.Engine.Recorders;

namespace HilRunner.Engine.Tests.Recorders;

public class ArrivalLineTests
{
    [Test]
    public void TheTrueRate_ThroughDelaysThatOnlyEverAdd() =>
        Gen.Select(Gen.Int[-30_000, 30_000], Gen.Int[0, 20], Gen.Int[10, 60], Gen.Int).Sample((ppm, delayMs, seconds, seed) =>
        {
            var random = new Random(seed);
            var line = new ArrivalLine(new(100_000));
            double hertz = 100 * (1 + ppm * 1e-6);
            for (int n = 0; n < seconds * 100; n++) { line.Add(new((long)(n / hertz * 1e9 + random.NextDouble() * delayMs * 1e6))); }
            // The earliest of a hundred arrivals is late by about a hundredth of the longest delay.
            double allowed = 100 * (0.2e-3 * delayMs / seconds) + line.Rate!.UncertaintyHz + 1e-6;
            return Math.Abs(line.Rate!.Hertz - hertz) <= allowed && line.Rate.UncertaintyHz < 100 * 1e-3 * delayMs / seconds + 1e-6;
        }, iter: 200, threads: 1);

    [TestCase(-26_074, 1, 41, 1583940)]
    [TestCase(30_000, 1, 60, 1)]
    public void ASensorFarOffItsRate_IsTimedByItsEarliestArrivals_NotByItsFirstOnes(int ppm, int delayMs, int seconds, int seed)
    {
        var random = new Random(seed);
        var line = new ArrivalLine(new(100_000));
        double hertz = 100 * (1 + ppm * 1e-6);
        for (int n = 0; n < seconds * 100; n++) { line.Add(new((long)(n / hertz * 1e9 + random.NextDouble() * delayMs * 1e6))); }
        // A hundred arrivals a second, each late by 0 to d: the earliest is late by d / 101, with that as its standard deviation
        // (the least of a hundred even numbers, a beta distribution). A line through n such points one second apart has a slope with
        // the standard deviation d / 101 * sqrt(12 / n^3).
        double deviation = delayMs * 1e-3 / 101 * Math.Sqrt(12 / Math.Pow(seconds, 3));
        Assert.That(line.Rate!.Hertz / hertz - 1, Is.EqualTo(0).Within(4 * deviation));
        Assert.That(line.Rate.UncertaintyHz / hertz, Is.InRange(deviation, 4 * deviation));
    }

    [Test]
    public void ARateIsOff_BeyondHalfAPercent()
    {
        var stated = new SampleRate(100_000);
        Assert.Multiple(() =>
        {
            Assert.That(new MeasuredRate(100.4, 0.01).IsOff(stated), Is.False);
            Assert.That(new MeasuredRate(100.6, 0.01).IsOff(stated), Is.True);
            Assert.That(new MeasuredRate(100.6, 0.2).IsOff(stated), Is.False, "not shown");
        });
    }

    [Test]
    public void AMomentAndItsSample()
    {
        var line = new ArrivalLine(new(100_000));
        for (int n = 0; n < 1000; n++) { line.Add(new(5_000_000_000 + n * 10_000_000L + (n % 7 == 0 ? 0 : 4_000_000))); }
        Assert.That(line.IndexAt(new(5_000_000_000 + 500 * 10_000_000L)), Is.EqualTo(500));
        Assert.That(line.TimeOf(500).Ns, Is.EqualTo(10_000_000_000).Within(1_000_000));
        Assert.That(line.IndexAt(new(4_000_000_000)), Is.Negative);
    }

    [Test]
    public void TooLittle_SaysNothing()
    {
        var line = new ArrivalLine(new(100_000));
        for (int n = 0; n < 300; n++) { line.Add(new(n * 10_000_000L)); }
        Assert.That(line.Rate, Is.Null);
    }
}
