using HilRunner.Core.Statistics;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Tests.Statistics;

/// <summary>Nothing, one, all alike, without end.</summary>
public class DegenerateTests
{
    [Test]
    public void NoTrialsGiveNoBound()
    {
        Assert.That(BinomialBounds.Lower(0, 0, 0.9), Is.Null);
        Assert.That(BinomialBounds.Upper(0, 0, 0.9), Is.Null);
        Assert.That(BinomialBounds.TwoSided(0, 0, 0.9), Is.Null);
        Assert.That(QuantileBounds.Upper([], 0.95, 0.9), Is.Null);
        Assert.That(QuantileBounds.Lower([], 0.95, 0.9), Is.Null);
        Assert.That(HodgesLehmann.Paired([], 0.95), Is.Null);
        Assert.That(HodgesLehmann.Unpaired([], [1], 0.95), Is.Null);
        Assert.That(MannWhitney.Test([], [1]).P, Is.Null);
        Assert.That(FisherExact.Test(0, 0, 1, 2), Is.Null);
        Assert.That(PairedShares.Difference(0, 0, 0, 0, 0.95), Is.Null);
        Assert.That(PairedShares.SmallestChange(5, 0.05), Is.Null);
        Assert.That(Holm.Adjust([]), Is.Empty);
    }

    [Test]
    public void AllFailed()
    {
        Assert.That(BinomialBounds.Lower(0, 12, 0.9), Is.Zero);
        Assert.That(BinomialBounds.Upper(0, 12, 0.9), Is.EqualTo(1 - Math.Pow(0.1, 1.0 / 12)));
        Assert.That(BinomialBounds.Upper(12, 12, 0.9), Is.EqualTo(1));
    }

    [Test]
    public void NothingChanged()
    {
        Assert.That(McNemar.Test(0, 0), Is.EqualTo(new McNemar(1, 1)));
        Assert.That(SignedRank.Test([0, 0, 0]), Is.EqualTo(new SignedRank(0, 0, 1)));
        Assert.That(HodgesLehmann.Paired(new double[20], 0.95), Is.EqualTo(new HodgesLehmann(0, new Interval(0, 0))));
        Assert.That(MannWhitney.Test([1, 1, 1], [1, 1]).P, Is.EqualTo(1));
        Assert.That(PairedShares.Power(100, 0, 0, 0.05), Is.Zero);
    }

    [Test]
    public void TooFewForAnInterval()
    {
        Assert.That(HodgesLehmann.Paired([0.2, 0.3, 0.4], 0.95), Is.EqualTo(new HodgesLehmann(0.3, null)).Using<HodgesLehmann>((a, b) =>
            Math.Abs(a.Shift - b.Shift) < 1e-12 && a.Interval is null && b.Interval is null));
        Assert.That(QuantileBounds.Upper([.. Enumerable.Repeat(1.0, 58)], 0.95, 0.95), Is.Null);
        Assert.That(QuantileBounds.Lower([1, 2], 0.05, 0.95), Is.Null);
    }

    [Test]
    public void AMissedTrialIsALatencyWithoutEnd()
    {
        double[] sorted = [.. Enumerable.Range(1, 58).Select(v => (double)v), double.PositiveInfinity];
        Assert.That(QuantileBounds.Upper(sorted, 0.95, 0.95), Is.EqualTo(double.PositiveInfinity));
        Assert.That(QuantileBounds.Upper(sorted, 0.5, 0.95), Is.LessThan(40));
        Assert.That(() => HodgesLehmann.Paired([1, double.PositiveInfinity], 0.95), Throws.ArgumentException);
    }

    [Test]
    public void ArgumentsOutOfRangeAreNamed()
    {
        Assert.That(() => BinomialBounds.Lower(3, 2, 0.9), Throws.TypeOf<ArgumentOutOfRangeException>());
        Assert.That(() => BinomialBounds.Lower(1, 2, 1), Throws.TypeOf<ArgumentOutOfRangeException>());
        Assert.That(() => SampleSize.Trials(1, 0.9, 0), Throws.TypeOf<ArgumentOutOfRangeException>());
        Assert.That(() => SampleSize.Trials(0.999999999, 0.9, 0), Throws.TypeOf<ArgumentOutOfRangeException>());
        Assert.That(() => new SequentialTest(0.2, 0.1, 0.05, 0.1, 10), Throws.TypeOf<ArgumentOutOfRangeException>());
        Assert.That(() => new SequentialTest(0.1, 0.2, 0.5, 0.5, 10), Throws.TypeOf<ArgumentOutOfRangeException>());
        Assert.That(() => PairedShares.Pairs(0.1, 0.1, 0.05, 0.8), Throws.TypeOf<ArgumentOutOfRangeException>());
    }

    [Test]
    public void ATestThatIsCutOffDecidesThen()
    {
        var test = new SequentialTest(0.05, 0.2, 0.05, 0.1, 15);
        Assert.That(test.Decide(0, 0), Is.EqualTo(SequentialOutcome.GoOn));
        Assert.That(test.Decide(14, 1), Is.EqualTo(SequentialOutcome.GoOn));
        Assert.That(test.Decide(15, 1), Is.EqualTo(SequentialOutcome.Accept));
        Assert.That(test.Decide(15, 2), Is.EqualTo(SequentialOutcome.Reject));
        var all = test.At(0);
        Assert.That((all.Accept, all.Reject), Is.EqualTo((1.0, 0.0)));
    }
}
