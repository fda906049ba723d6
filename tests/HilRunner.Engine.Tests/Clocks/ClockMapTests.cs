using System.Globalization;
using CsCheck;
using HilRunner.Engine.Clocks;

namespace HilRunner.Engine.Tests.Clocks;

public class ClockMapTests
{
    private const long Ms = 1_000_000;
    private const long Second = 1000 * Ms;

    private static ClockExchange Exchange(long t1, long device, long t4) => new(new(t1), new(device), new(t4));

    private static ClockMap Fit(params ClockExchange[] exchanges) => ClockMap.Fit(exchanges, tickNs: 0, tolerancePpm: 500)!;

    // RFC 5905 §8, worked by its formulas.
    [TestCase(0, 5, 10, 0, 10)]
    [TestCase(0, 103, 8, 99, 8)]
    public void OffsetAndDelayFollowTheStandard(long t1, long t2, long t4, long offset, long delay)
    {
        var exchange = Exchange(t1, t2, t4);
        Assert.That(exchange.OffsetNs, Is.EqualTo(offset));
        Assert.That(exchange.DelayNs, Is.EqualTo(delay));
    }

    /// <summary>
    /// Minimum-delay filter (RFC 5905 §10) on the made example: (0, 1006, 1006.5, 9) θ 1001.75 δ 8.5; (1000, 2009.04, 2009.54, 1016.5) θ 1001.04
    /// δ 16; (2000, 3003.08, 3003.58, 2006.1) θ 1000.28 δ 5.6; (3000, 4005.12, 4005.62, 3009) θ 1000.87 δ 8.5: the third counts,
    /// ±2.8 ms. The half millisecond in the device is put into the delay, as for a device with one stamp: ±3.05 ms.
    /// </summary>
    [Test]
    public void TheExchangeOfLeastDelayCounts()
    {
        var map = Fit(
            Exchange(0, 1006_250_000, 9 * Ms), Exchange(1000 * Ms, 2009_290_000, 1016_500_000),
            Exchange(2000 * Ms, 3003_330_000, 2006_100_000), Exchange(3000 * Ms, 4005_370_000, 3009 * Ms));
        Assert.That(map.LeastDelayNs, Is.EqualTo(6_100_000));
        Assert.That(map.Skew, Is.Null, "not known to ±20 ppm from three seconds");
        var (host, uncertainty) = map.ToHost(new(3003_330_000));
        // Within RFC 5905's θ ± δ/2 of the third, and wider only by the wander that is allowed for (0.1 ppm of 1.5 s).
        Assert.That(host.Ns - uncertainty, Is.GreaterThanOrEqualTo(2000 * Ms - 160));
        Assert.That(host.Ns + uncertainty, Is.LessThanOrEqualTo(2006_100_000 + 160));
    }

    [Test]
    public void NoExchangeNoMap() => Assert.That(ClockMap.Fit([], 1000, 500), Is.Null);

    [Test]
    public void TheTruthLiesInsideTheBoundWhateverTheDelays()
    {
        // Offset −1 h … +1 h, rate −200 … +200 ppm, delays 0 … 30 ms each way, independent of each other; stamps in whole µs.
        var delays = Gen.Select(Gen.Long[0, 30 * Ms], Gen.Long[0, 30 * Ms]);
        var gen = Gen.Select(
            Gen.Long[-3600 * Second, 3600 * Second], Gen.Double[-200e-6, 200e-6], delays.Array[8], delays.Array[0, 20], delays.Array[8], Gen.Double[0, 1]);
        gen.Sample((offset, rate, before, during, after, place) =>
        {
            const long unix = 1_790_000_000_000_000_000;
            const long end = 60 * Second;
            long Clock(long host) => offset + host + (long)(host * rate);
            long Stamp(long host) => (long)Math.Floor(Clock(host) / 1000.0) * 1000;
            ClockExchange At(long start, (long There, long Back) d) =>
                new(new(unix + start), new(Stamp(start + d.There)), new(unix + start + d.There + d.Back));
            ClockExchange[] all =
            [
                .. before.Select((d, i) => At(i * 50 * Ms, d)), .. during.Select((d, i) => At(Second + i * Second * 2, d)),
                .. after.Select((d, i) => At(end + i * 50 * Ms, d)),
            ];
            var map = ClockMap.Fit(all, tickNs: 1000, tolerancePpm: 500)!;
            long truth = (long)(place * end);
            var (host, uncertainty) = map.ToHost(new(Stamp(truth)));
            Assert.That(Math.Abs(host.Ns - unix - truth), Is.LessThanOrEqualTo(uncertainty + 2));
            Assert.That(map.UnevenNs, Is.Zero);
            long most = Math.Max(before.Min(d => d.Item1 + d.Item2), after.Min(d => d.Item1 + d.Item2));
            Assert.That(uncertainty, Is.LessThanOrEqualTo(most / 2 * 1.05 + 10_000), "wider than the exchanges on both sides allow");
            if (map.Skew is { } skew) { Assert.That(Math.Abs(skew.Ppm - rate * 1e6), Is.LessThanOrEqualTo(skew.UncertaintyPpm + 0.1)); }
        });
    }

    /// <summary>Slow twin: every line through an upper and a lower end of two exchanges that meets all others.</summary>
    [Test]
    public void TheBoundIsThatOfAllLinesThroughAllExchanges()
    {
        var one = Gen.Select(Gen.Int[0, 1_000_000], Gen.Int[0, 40_000], Gen.Int[0, 40_000]);
        Gen.Select(one.Array[2, 12], Gen.Int[-200_000, 1_200_000]).Sample((times, asked) =>
        {
            ClockExchange[] all = [.. times.Select(t => Exchange((t.Item1 - t.Item2) * 1000L, t.Item1 * 1000L, (t.Item1 + t.Item3) * 1000L))];
            var lines = FeasibleLines.Through(all, 0, 0.05, _ => 0)!;
            var (from, to) = lines.HostAt(new(asked * 1000L));
            double low = double.PositiveInfinity, high = double.NegativeInfinity;
            foreach (var (a, b) in all.SelectMany(a => all.Select(b => (a, b))).Where(p => p.a.Device.Ns != p.b.Device.Ns))
            {
                foreach (var (ya, yb) in new[] { (a.Sent.Ns, b.Received.Ns), (a.Received.Ns, b.Sent.Ns), (a.Sent.Ns, b.Sent.Ns), (a.Received.Ns, b.Received.Ns) })
                {
                    double slope = (double)(yb - ya) / (b.Device.Ns - a.Device.Ns);
                    if (slope is < 0.95 or > 1.05) { continue; }
                    double At(double x) => ya + slope * (x - a.Device.Ns);
                    if (all.Any(e => At(e.Device.Ns) < e.Sent.Ns - 1 || At(e.Device.Ns) > e.Received.Ns + 1)) { continue; }
                    double y = At(asked * 1000.0);
                    (low, high) = (Math.Min(low, y), Math.Max(high, y));
                }
            }
            // The twin does not know of rates at the very limit: it may only be narrower.
            Assert.That(lines.Origin.Ns + from, Is.LessThanOrEqualTo(low + 2));
            Assert.That(lines.Origin.Ns + to, Is.GreaterThanOrEqualTo(high - 2));
            var (slowest, fastest) = lines.SkewPpm;
            if (slowest > -47_000 && fastest < 52_000 && low < high)
            {
                Assert.That(lines.Origin.Ns + from, Is.EqualTo(low).Within(5));
                Assert.That(lines.Origin.Ns + to, Is.EqualTo(high).Within(5));
            }
        });
    }

    [Test]
    public void FromOneExchangeTheRateIsNotKnownAndTheBoundSaysSo()
    {
        var map = Fit(Exchange(0, 1 * Ms, 2 * Ms));
        Assert.That(map.ToHost(new(1 * Ms)).UncertaintyNs, Is.EqualTo(1 * Ms).Within(10));
        Assert.That(map.ToHost(new(60 * Second)).UncertaintyNs, Is.EqualTo(31 * Ms).Within(1 * Ms), "±500 ppm of a minute beside half the delay");
        Assert.That(map.Skew, Is.Null);
    }

    /// <summary>The exact line of offsets 5.0000 … 5.0016 s at 0 … 40 s: 40.000 ppm.</summary>
    [Test]
    public void AnExactLineHasItsRate()
    {
        var map = Fit([.. Enumerable.Range(0, 5).Select(i => Exchange(i * 10 * Second, i * 10 * Second + 5 * Second + i * 400_000, i * 10 * Second))]);
        Assert.That(map.Skew!.Value.Ppm, Is.EqualTo(40.0).Within(map.Skew.Value.UncertaintyPpm + 1e-9));
        Assert.That(map.Skew.Value.UncertaintyPpm, Is.LessThan(0.2), "the wander that is allowed for, and no more");
    }

    /// <summary>Offsets 2.0 4.3 7.4 9.1 11.8 14.2 ms at 0 … 300 s: least squares 40.571 ppm, Theil–Sen 40.667 ppm.</summary>
    [Test]
    public void TheRateIntervalHoldsWhatOtherEstimatorsFind()
    {
        double[] offsetsMs = [2.0, 4.3, 7.4, 9.1, 11.8, 14.2];
        var map = Fit([.. offsetsMs.Select((o, i) => Exchange(i * 60 * Second - 1 * Ms, i * 60 * Second + (long)(o * Ms), i * 60 * Second + 1 * Ms))]);
        var (ppm, half) = map.Skew!.Value;
        Assert.That(ppm, Is.EqualTo(40.571).Within(half).And.EqualTo(40.667).Within(half));
        Assert.That(half, Is.LessThan(10), "2 ms in 300 s");
    }

    [Test]
    public void AClockThatIsPlainlyOffIsToldAlsoWhereItsRateIsPoorlyKnown()
    {
        // 2 % fast, seen for half a second through round trips of 2 ms.
        var map = Fit(Exchange(0, 1 * Ms, 2 * Ms), Exchange(500 * Ms, 511 * Ms, 502 * Ms));
        Assert.That(map.Skew!.Value.Ppm, Is.EqualTo(20_000).Within(map.Skew.Value.UncertaintyPpm));
        Assert.That(map.Skew.Value.UncertaintyPpm, Is.GreaterThan(ClockMap.KnownPpm));
    }

    [Test]
    public void AClockThatStepsIsAllowedForAndSaid()
    {
        var exchanges = Enumerable.Range(0, 20).Select(i => Exchange(i * Second, i * Second + (i < 10 ? 0 : 40 * Ms), i * Second + 2000)).ToArray();
        var map = Fit(exchanges);
        Assert.That(map.UnevenNs, Is.InRange(1 * Ms, 20 * Ms));
        // From the first answer to the last it ran 40 ms further, in 19 s; the line through all of them has another rate.
        if (map.Skew is { } skew) { Assert.That(skew.Ppm, Is.EqualTo(40e6 / 19_000).Within(skew.UncertaintyPpm)); }
        foreach (var e in exchanges)
        {
            var (host, uncertainty) = map.ToHost(e.Device);
            Assert.That(Math.Abs(host.Ns - e.Received.Ns), Is.LessThanOrEqualTo(uncertainty));
        }
    }

    /// <summary>
    /// Half a second that hides in a long round trip, and 20 good answers on either side: the rate is 0 in all.
    /// </summary>
    [Test]
    public void TheRateOfAClockThatStepsBackIsNotToldCloserThanItIsKnown()
    {
        const long stood = 470 * Ms;
        var map = Fit([.. Enumerable.Range(0, 40).Select(i =>
            Exchange(i * Second / 2, i * Second / 2 + Ms - (i < 20 ? 0 : stood), i * Second / 2 + (i == 20 ? stood : 0)
                + 2 * Ms))]);
        Assert.That(map.UnevenNs, Is.GreaterThan(10 * Ms));
        if (map.Skew is { } skew) { Assert.That(skew.Ppm, Is.EqualTo(-470e6 / 19_500).Within(skew.UncertaintyPpm)); }
    }

    [Test]
    public void ADayOfASlowlyWanderingClockIsFollowed()
    {
        // A room that warms and cools once a day: ±1 ppm; answers within 0.5 to 3 ms, one a second.
        const double amplitude = 1e-6, day = 86_400e9;
        double Clock(double host) => host + amplitude * day / (2 * Math.PI) * (1 - Math.Cos(2 * Math.PI * host / day));
        var random = new Random(7);
        var exchanges = Enumerable.Range(0, 86_400).Select(i =>
        {
            long t1 = i * Second;
            long there = random.Next(200_000, 1_500_000), back = random.Next(200_000, 1_500_000);
            return Exchange(t1, (long)Clock(t1 + there), t1 + there + back);
        }).ToArray();
        var map = ClockMap.Fit(exchanges, tickNs: 1, tolerancePpm: 500)!;
        for (long host = 0; host < 86_400 * Second; host += 997 * Second)
        {
            var (found, uncertainty) = map.ToHost(new((long)Clock(host)));
            Assert.That(Math.Abs(found.Ns - host), Is.LessThanOrEqualTo(uncertainty), string.Create(CultureInfo.InvariantCulture, $"at {host / 1e9} s"));
            Assert.That(uncertainty, Is.LessThan(350_000));
        }
        Assert.That(map.UnevenNs, Is.Zero, "within minutes it ran evenly");
    }
}
