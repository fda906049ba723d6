using CsCheck;
using HilRunner.Engine.Pacing;
using HilRunner.Testing;

namespace HilRunner.Engine.Tests.Pacing;

public class LatenessHistogramTests
{
    private const long Range = 1L << 36;

    /// <summary>Every order of magnitude alike, the edges of octaves and buckets among them.</summary>
    private static readonly Gen<long> s_lateness =
        Gen.Select(Gen.Int[0, 36], Gen.Long[-2, 2], Gen.Double[0, 1], Gen.Bool, (octave, near, part, edge) =>
            edge ? Math.Clamp((1L << octave) + near, 0, Range - 1) : (long)(part * ((1L << octave) - 1)));

    private static readonly Gen<double> s_share = Gen.OneOf(Gen.Int[1, 1000].Select(perMille => perMille / 1000.0), Gen.Double[1e-6, 1.0]);

    private static LatenessHistogram Of(IEnumerable<long> values)
    {
        var histogram = new LatenessHistogram();
        foreach (long value in values) { histogram.Add(value); }
        return histogram;
    }

    /// <summary>Type 1 of Hyndman and Fan 1996, on the values themselves: the twin keeps and sorts what the histogram only counts.</summary>
    private static long Exact(IReadOnlyList<long> values, double share) =>
        values.Order().ElementAt(Math.Max(1, (int)Math.Ceiling((decimal)share * values.Count)) - 1);

    [Test]
    public void AQuantileIsNeverBelowTheSortedOneAndAtMostASixteenthAbove() =>
        Gen.Select(s_lateness.Array[1, 300], s_share).Sample((values, share) =>
        {
            long exact = Exact(values, share);
            long told = Of(values).Quantile(share)!.Value;
            Assert.That(told, Is.GreaterThanOrEqualTo(exact));
            Assert.That(told - exact, Is.LessThanOrEqualTo(exact / 16.0));
        });

    [Test]
    public void CountAndLargestAreThoseOfTheValues() =>
        s_lateness.Array[0, 300].Sample(values =>
        {
            var histogram = Of(values);
            Assert.That(histogram.Count, Is.EqualTo(values.Length));
            Assert.That(histogram.LargestNs, Is.EqualTo(values.Length == 0 ? 0 : values.Max()));
            Assert.That(histogram.Beyond, Is.Zero);
        });

    [Test]
    public void ThePartOfAThousandIsExact()
    {
        // 999 of 1000 is 99.9 %, which in binary fractions is a little more than 0.999.
        var histogram = Of(Enumerable.Repeat(5L, 999).Append(1_000_000));
        Assert.That(histogram.Quantile(0.999), Is.EqualTo(5));
        Assert.That(histogram.Quantile(1), Is.EqualTo(1_000_000));
    }

    [Test]
    public void BeyondTheBucketsIsCountedAndTheLargestIsKept()
    {
        var histogram = Of([1000, Range - 1, Range, long.MaxValue]);
        Assert.That(histogram.Beyond, Is.EqualTo(2));
        Assert.That(histogram.Quantile(0.5), Is.EqualTo(Range - 1));
        Assert.That(histogram.Quantile(0.75), Is.EqualTo(long.MaxValue), "an upper bound is all that can be said");
    }

    [Test]
    public void NothingAddedIsNoFigure() => Assert.That(new LatenessHistogram().Quantile(0.5), Is.Null);

    [TestCase(0.0)]
    [TestCase(-0.1)]
    [TestCase(1.1)]
    [TestCase(double.NaN)]
    public void AShareOutsideItsRangeIsRefused(double share) =>
        Assert.That(() => Of([1]).Quantile(share), Throws.InstanceOf<ArgumentOutOfRangeException>());

    [Test]
    public void ANegativeLatenessIsRefused() =>
        Assert.That(() => new LatenessHistogram().Add(-1), Throws.InstanceOf<ArgumentOutOfRangeException>());

    [Test]
    public void AddingAndAskingAllocateNothing()
    {
        var histogram = Of([1, 1000]);
        _ = histogram.Quantile(0.5);
        long? told = null;
        long allocated = Allocated.Least(() =>
        {
            for (long value = 0; value < 10_000; value++) { histogram.Add(value * value); }
            told = histogram.Quantile(0.999);
        });
        Assert.That(allocated, Is.Zero);
        Assert.That(told, Is.Not.Null);
    }
}
