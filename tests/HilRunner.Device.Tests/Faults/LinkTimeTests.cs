using CsCheck;
using HilRunner.Device.Faults;

namespace HilRunner.Device.Tests.Faults;

public sealed class LinkTimeTests
{
    private static readonly TimeSpan Fixed = TimeSpan.FromMilliseconds(5);
    private static readonly TimeSpan Jitter = TimeSpan.FromMilliseconds(30);
    private const long Ms = 1_000_000;

    [Test]
    public void None_overtakes_another_and_each_takes_between_the_fixed_time_and_the_jitter_more() =>
        Gen.Select(Gen.ULong, Gen.Long[0, 40 * Ms].Array[1, 200]).Sample((seed, gaps) =>
        {
            LinkTime link = new(Fixed, Jitter, seed);
            long sent = 0, latest = long.MinValue, last = long.MinValue;
            foreach (long gap in gaps)
            {
                sent += gap;
                latest = sent + 35 * Ms;
                long arrival = link.Arrival(new(sent)).Ns;
                if (arrival < sent + 5 * Ms || arrival > latest || arrival < last) { return false; }
                last = arrival;
            }
            return true;
        });

    [Test]
    public void Far_apart_the_jitter_is_uniform()
    {
        const int count = 10_000;
        LinkTime link = new(Fixed, Jitter, seed: 11);
        double[] shares = [.. Enumerable.Range(0, count).Select(i => (link.Arrival(new(i * 100 * Ms)).Ns - i * 100 * Ms - 5 * Ms) / (30.0 * Ms)).Order()];
        double distance = shares.Select((share, i) => Math.Max(share - (double)i / count, (double)(i + 1) / count - share)).Max();
        // Kolmogorov's limit: P(√n·D > 1.95) = 0.001.
        Assert.That(Math.Sqrt(count) * distance, Is.LessThan(1.95));
    }

    [Test]
    public void The_same_seed_gives_the_same_times()
    {
        long[] Times(ulong seed)
        {
            LinkTime link = new(Fixed, Jitter, seed);
            return [.. Enumerable.Range(0, 100).Select(i => link.Arrival(new(i * Ms)).Ns)];
        }
        long[] first = Times(3);
        Assert.That(Times(3), Is.EqualTo(first));
        Assert.That(Times(4), Is.Not.EqualTo(first));
    }
}
