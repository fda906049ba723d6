using HilRunner.Scoring.Latency;

namespace HilRunner.Scoring.Tests.Latency;

/// <summary>Type 7 of Hyndman and Fan, Am. Stat. 50(4):361–365, 1996; values reproduced from R and from the formula.</summary>
[TestFixture]
internal sealed class QuantileTests
{
    private static readonly double[] Eight = [12, 15, 17, 20, 26, 31, 45, 60];

    [TestCase(25, 16.5)]
    [TestCase(50, 23)]
    [TestCase(90, 49.5)]
    [TestCase(95, 54.75)]
    [TestCase(100, 60)]
    [TestCase(0, 12)]
    public void OfEightValues(int percent, double expected) => Assert.That(Of(Eight, percent), Is.EqualTo(expected));

    [TestCase(25, 3.25)]
    [TestCase(95, 9.55)]
    public void OfOneToTen(int percent, double expected) =>
        Assert.That(Of([.. Enumerable.Range(1, 10).Select(i => (double)i)], percent), Is.EqualTo(expected));

    [Test]
    public void AValueThatNeverComesIsAboveAllOthers()
    {
        long[] sorted = [1_000_000_000, 2_000_000_000, 3_000_000_000, Quantile.Never, Quantile.Never];
        Assert.That(Quantile.Type7(sorted, 50), Is.EqualTo(3), "the third of five: nothing of the fourth enters");
        Assert.That(Quantile.Type7(sorted, 51), Is.EqualTo(double.PositiveInfinity));
        Assert.That(Quantile.Type7(sorted, 100), Is.EqualTo(double.PositiveInfinity));
        Assert.That(Quantile.Mean(sorted), Is.EqualTo(double.PositiveInfinity));
    }

    [Test]
    public void NothingHasNoQuantile() => Assert.That((Quantile.Type7([], 50), Quantile.Mean([])), Is.EqualTo(((double?)null, (double?)null)));

    private static double? Of(double[] seconds, int percent) => Quantile.Type7([.. seconds.Select(s => (long)(s * 1e9))], percent);
}
