using CsCheck;
using HilRunner.Engine.Clocks;

namespace HilRunner.Engine.Tests.Clocks;

public class ClockMapTests
{
    private const long Ms = 1_000_000;

    /// <summary>T1, T2, T3, T4 as in RFC 5905 §8; here T2 = T3 unless the device says otherwise, so the middle is taken.</summary>
    private static ClockExchange Exchange(long t1, long device, long t4) => new(new(t1), new(device), new(t4));

    // RFC 5905 §8, worked by its formulas.
    [TestCase(0, 5, 10, 0, 10)]
    [TestCase(0, 103, 8, 99, 8)]
    public void OffsetAndDelayFollowTheStandard(long t1, long t2, long t4, long offset, long delay)
    {
        var exchange = Exchange(t1, t2, t4);
        Assert.That(exchange.OffsetNs, Is.EqualTo(offset));
        Assert.That(exchange.DelayNs, Is.EqualTo(delay));
    }

    [Test]
    public void TheExchangeOfLeastDelayCounts()
    {
        // The minimum-delay example of RFC 5905 §10 in whole milliseconds, device stamps in the middle of T2 and T3.
        ClockExchange[] before =
        [
            Exchange(0, 1006_250_000, 9 * Ms), Exchange(1000 * Ms, 2009_290_000, 1016_500_000),
            Exchange(2000 * Ms, 3003_330_000, 2006_100_000), Exchange(3000 * Ms, 4005_370_000, 3009 * Ms),
        ];
        var map = ClockMap.Fit(before, [])!;
        Assert.That(map.LinkNs, Is.EqualTo(3_050_000));
        Assert.That(map.SkewPpm, Is.Null);
        var (host, _) = map.ToHost(new(3003_330_000));
        Assert.That(host.Ns, Is.EqualTo(2003_050_000));
    }

    [Test]
    public void NoExchangeNoMap() => Assert.That(ClockMap.Fit([], []), Is.Null);

    [Test]
    public void TheTruthLiesInsideTheBoundWhateverTheDelays()
    {
        // Offset −1 h … +1 h, rate −200 … +200 ppm, delays 0 … 30 ms each way, independent of each other.
        var delays = Gen.Select(Gen.Long[0, 30 * Ms], Gen.Long[0, 30 * Ms]);
        var gen = Gen.Select(
            Gen.Long[-3_600_000 * Ms, 3_600_000 * Ms], Gen.Double[-200e-6, 200e-6], delays.Array[8], delays.Array[8], Gen.Double[0, 1]);
        gen.Sample((offset, rate, before, after, place) =>
        {
            long Device(long host) => offset + host + (long)(host * rate);
            ClockExchange[] At(long start, (long, long)[] times) =>
                [.. times.Select((d, i) => Exchange(start + i * 50 * Ms, Device(start + i * 50 * Ms + d.Item1), start + i * 50 * Ms + d.Item1 + d.Item2))];
            const long end = 60_000 * Ms;
            var map = ClockMap.Fit(At(0, before), At(end, after))!;
            long truth = (long)(place * end);
            var (host, uncertainty) = map.ToHost(new(Device(truth)));
            Assert.That(Math.Abs(host.Ns - truth), Is.LessThanOrEqualTo(uncertainty + 2));
            long least = Math.Min(before.Min(d => d.Item1 + d.Item2), after.Min(d => d.Item1 + d.Item2));
            long most = Math.Max(before.Min(d => d.Item1 + d.Item2), after.Min(d => d.Item1 + d.Item2));
            Assert.That(uncertainty, Is.InRange(0, most / 2 * 1.05 + 1000), $"wider than its delays ({least}) allow");
        });
    }

    [Test]
    public void FromOneSideTheBoundGrowsWithTime()
    {
        var map = ClockMap.Fit([Exchange(0, 1 * Ms, 2 * Ms)], [])!;
        Assert.That(map.ToHost(new(60_000 * Ms)).UncertaintyNs, Is.EqualTo(1 * Ms + 60_000 * Ms / 10_000).Within(1000));
    }

    [Test]
    public void RateIsFoundFromBothSides()
    {
        var map = ClockMap.Fit([Exchange(0, 5_000_000_000, 0)], [Exchange(40_000 * Ms, 45_001_600_000, 40_000 * Ms)])!;
        Assert.That(map.SkewPpm, Is.EqualTo(40.0).Within(1e-6));
    }
}
