using HilRunner.Core.Statistics;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Tests.Statistics;

/// <summary>
/// Ten thousand virtual builds whose true rates are known. Each figure is held on both sides: it keeps its promise, and it is what its exact distribution says, so that a bound that is
/// merely wide does not pass. Seeds are printed.
/// </summary>
public class CalibrationTests
{
    private const int Builds = 10_000;
    /// <summary>Chance that a right figure fails its check, each.</summary>
    private const double Risk = 1e-6;
    private readonly int _seed = Environment.TickCount;
    private Random _random = null!;

    [SetUp]
    public void Seed()
    {
        TestContext.Out.WriteLine($"seed {_seed}");
        _random = new(_seed);
    }

    [Test]
    public void BoundsOnSharesCoverTheTruth([Values(12, 46, 300)] int trials, [Values(0.6, 0.9, 0.97)] double truth)
    {
        double[] lower = [.. Enumerable.Range(0, trials + 1).Select(k => BinomialBounds.Lower(k, trials, 0.9)!.Value)];
        double[] upper = [.. Enumerable.Range(0, trials + 1).Select(k => BinomialBounds.Upper(k, trials, 0.9)!.Value)];
        double below = 0, above = 0;
        for (int k = 0; k <= trials; k++)
        {
            double chance = Binomial.Exactly(k, trials, truth);
            if (lower[k] <= truth) { below += chance; }
            if (upper[k] >= truth) { above += chance; }
        }
        // At least what is promised, and by no more than what one trial more or less is worth.
        const double rounding = 1e-12;
        double step = Enumerable.Range(0, trials + 1).Max(k => Binomial.Exactly(k, trials, truth));
        Assert.That(below, Is.InRange(0.9, Math.Min(1, 0.9 + step) + rounding));
        Assert.That(above, Is.InRange(0.9, Math.Min(1, 0.9 + step) + rounding));
        int[] seen = [.. Enumerable.Range(0, Builds).Select(_ => Successes(trials, truth))];
        AssertAsOften(seen.Count(k => lower[k] <= truth), Math.Min(1, below));
        AssertAsOften(seen.Count(k => upper[k] >= truth), Math.Min(1, above));
    }

    [Test]
    public void BoundsOnQuantilesCoverTheTruth([Values(50, 120)] int trials, [Values(0.5, 0.95)] double share)
    {
        // Latencies of an exponential distribution, cut to 10 ms as a device that decides every so often has them: ties.
        double truth = Math.Floor(-100 * Math.Log(1 - share)) / 100;
        int over = 0, under = 0;
        for (int build = 0; build < Builds; build++)
        {
            double[] sorted = [.. Enumerable.Range(0, trials).Select(_ => Math.Floor(-100 * Math.Log(1 - _random.NextDouble())) / 100).Order()];
            if (QuantileBounds.Upper(sorted, share, 0.9) is not { } high || high >= truth) { over++; }
            if (QuantileBounds.Lower(sorted, share, 0.9) is not { } low || low <= truth) { under++; }
        }
        AssertAtLeast(over, 0.9);
        AssertAtLeast(under, 0.9);
        if (share == 0.5) { Assert.That(Math.Max(over, under), Is.LessThan(0.97 * Builds), "not merely wide"); }
    }

    [TestCase(0.02, 0.12, 0.05, 0.10, 90)]
    [TestCase(0.1, 0.3, 0.02, 0.03, 120)]
    public void ASequentialPlanKeepsItsRisks(double acceptable, double rejectable, double alpha, double beta, int most)
    {
        var plan = SequentialTest.Keeping(acceptable, rejectable, alpha, beta, most)!;
        var good = plan.At(acceptable);
        var bad = plan.At(rejectable);
        Assert.That(good.Reject, Is.LessThanOrEqualTo(alpha));
        Assert.That(bad.Accept, Is.LessThanOrEqualTo(beta));
        Assert.That(good.Accept + good.Reject, Is.EqualTo(1).Within(1e-9));
        var (rejected, _, trials) = Play(plan, acceptable);
        AssertAsOften(rejected, good.Reject);
        Assert.That((double)trials / Builds, Is.EqualTo(good.MeanTrials).Within(0.03 * good.MeanTrials));
        var (_, accepted, _) = Play(plan, rejectable);
        AssertAsOften(accepted, bad.Accept);
    }

    [Test]
    public void ACutOffThatIsTooEarlyKeepsNoRisks()
    {
        var (trials, _) = SampleSize.Between(0.02, 0.12, 0.05, 0.10);
        Assert.That(SequentialTest.Keeping(0.02, 0.12, 0.05, 0.10, trials / 2), Is.Null);
        var plan = SequentialTest.Keeping(0.02, 0.12, 0.05, 0.10, 2 * trials)!;
        Assert.That(plan.At(0.02).MeanTrials, Is.LessThan(trials), "what it is for");
        Assert.That(new SequentialTest(0.02, 0.12, 0.05, 0.10, 90).At(0.12).Accept, Is.GreaterThan(0.10), "Wald's own lines, cut off, break the promise");
    }

    /// <summary>Who has more trials is never refused what fewer gave; both risks are kept by every plan.</summary>
    [TestCase(0.02, 0.1, 0.05, 0.1)]
    [TestCase(0.03, 0.3, 0.1, 0.2)]
    [TestCase(0.05, 0.2, 0.05, 0.05)]
    public void MoreTrialsNeverLeaveASequentialPlanWithoutLines(double acceptable, double rejectable, double alpha, double beta)
    {
        int first = Enumerable.Range(1, 400).First(most => SequentialTest.Keeping(
            acceptable, rejectable, alpha, beta, most) is not null);
        for (int most = first; most < first + 60; most++)
        {
            var plan = SequentialTest.Keeping(acceptable, rejectable, alpha, beta, most);
            Assert.That(plan, Is.Not.Null, $"{most} trials, where {first} are enough");
            Assert.That(plan!.MostTrials, Is.LessThanOrEqualTo(most));
            Assert.That(plan.At(acceptable).Reject, Is.LessThanOrEqualTo(alpha));
            Assert.That(plan.At(rejectable).Accept, Is.LessThanOrEqualTo(beta));
        }
    }

    [TestCase(0.02, 0.12, 0.05, 0.10)]
    [TestCase(0.1, 0.3, 0.02, 0.03)]
    [TestCase(0.01, 0.10, 0.05, 0.10)]
    public void ThePlanOfOneSizeIsTheSmallestThatKeepsBothRisks(double p0, double p1, double alpha, double beta)
    {
        bool Keeps(int n) => Enumerable.Range(0, n).Any(c => 1 - Binomial.AtMost(c, n, p0) <= alpha && Binomial.AtMost(c, n, p1) <= beta);
        var (trials, failures) = SampleSize.Between(p0, p1, alpha, beta);
        Assert.That(Enumerable.Range(1, trials).First(Keeps), Is.EqualTo(trials));
        Assert.That((1 - Binomial.AtMost(failures, trials, p0) <= alpha, Binomial.AtMost(failures, trials, p1) <= beta), Is.EqualTo((true, true)));
    }

    [Test]
    public void IdenticalBuildsAreCalledDifferentNoMoreOftenThanTheLevelSays([Values(8, 40, 200)] int trials)
    {
        int alarms = 0;
        for (int build = 0; build < Builds; build++)
        {
            var (lost, gained) = Pairs(trials, _ => 0.7, _ => 0.7);
            if (McNemar.Test(lost, gained).Exact <= 0.05) { alarms++; }
        }
        Assert.That(Binomial.AtLeast(alarms, Builds, 0.05), Is.GreaterThan(Risk), $"{alarms} of {Builds}");
        AssertAsOften(alarms, PairedShares.Power(trials, 0.21, 0.21, 0.05));
    }

    [Test]
    public void SeveralClassesAtOnceKeepTheLevel()
    {
        int alarms = 0;
        for (int build = 0; build < Builds; build++)
        {
            double[] p = [.. Enumerable.Range(0, 5).Select(_ => Pairs(120, _ => 0.8, _ => 0.8)).Select(c => McNemar.Test(c.Lost, c.Gained).Exact)];
            if (Holm.Adjust(p).Any(a => a <= 0.05)) { alarms++; }
        }
        Assert.That(Binomial.AtLeast(alarms, Builds, 0.05), Is.GreaterThan(Risk), $"{alarms} of {Builds}");
        Assert.That(alarms, Is.GreaterThan(0.005 * Builds), "a test that never cries is no test");
    }

    [Test]
    public void ADropOfTenPointsIsFoundWithTheTrialsAskedFor()
    {
        // Nine in ten before, eight in ten now, trial by trial on their own.
        const double lost = 0.9 * 0.2, gained = 0.1 * 0.8, power = 0.8;
        int asked = PairedShares.Pairs(lost, gained, 0.05, power)!.Value;
        double promised = PairedShares.Power(asked, lost, gained, 0.05);
        Assert.That(promised, Is.InRange(power, power + 0.03));
        Assert.That(PairedShares.Power(asked - 1, lost, gained, 0.05), Is.LessThan(power));
        int found = 0;
        for (int build = 0; build < Builds; build++)
        {
            var (l, g) = Pairs(asked, _ => 0.9, _ => 0.8);
            if (McNemar.Test(l, g).Exact <= 0.05) { found++; }
        }
        TestContext.Out.WriteLine($"{asked} pairs, promised {promised:0.0000}, found {found} of {Builds}");
        AssertAsOften(found, promised);
    }

    [Test]
    public void ShiftsOfTheMedianAreCoveredAsPromised([Values(9, 60)] int pairs)
    {
        int covered = 0;
        for (int build = 0; build < Builds; build++)
        {
            double[] d = [.. Enumerable.Range(0, pairs).Select(_ => 0.05 + _random.NextDouble() - _random.NextDouble())];
            var interval = HodgesLehmann.Paired(d, 0.9)!.Value.Interval!.Value;
            if (interval.Low <= 0.05 && interval.High >= 0.05) { covered++; }
        }
        AssertAtLeast(covered, 0.9);
        Assert.That(covered, Is.LessThan(0.96 * Builds), "not merely wide");
    }

    private (int Rejected, int Accepted, long Trials) Play(SequentialTest plan, double failureShare)
    {
        int rejected = 0, accepted = 0;
        long trials = 0;
        for (int build = 0; build < Builds; build++)
        {
            int n = 0, failures = 0;
            var outcome = SequentialOutcome.GoOn;
            while (outcome == SequentialOutcome.GoOn)
            {
                n++;
                if (_random.NextDouble() < failureShare) { failures++; }
                outcome = plan.Decide(n, failures);
            }
            trials += n;
            if (outcome == SequentialOutcome.Accept) { accepted++; }
            else { rejected++; }
        }
        return (rejected, accepted, trials);
    }

    private (int Lost, int Gained) Pairs(int trials, Func<int, double> before, Func<int, double> now)
    {
        int lost = 0, gained = 0;
        for (int t = 0; t < trials; t++)
        {
            bool was = _random.NextDouble() < before(t), is_ = _random.NextDouble() < now(t);
            if (was && !is_) { lost++; }
            if (!was && is_) { gained++; }
        }
        return (lost, gained);
    }

    private int Successes(int trials, double share)
    {
        int k = 0;
        for (int i = 0; i < trials; i++) { if (_random.NextDouble() < share) { k++; } }
        return k;
    }

    private static void AssertAsOften(int seen, double chance)
    {
        Assert.That(Binomial.AtMost(seen, Builds, chance), Is.GreaterThan(Risk / 2), $"{seen} of {Builds} is too rare for {chance}");
        Assert.That(Binomial.AtLeast(seen, Builds, chance), Is.GreaterThan(Risk / 2), $"{seen} of {Builds} is too often for {chance}");
    }

    private static void AssertAtLeast(int seen, double chance) =>
        Assert.That(Binomial.AtMost(seen, Builds, chance), Is.GreaterThan(Risk), $"{seen} of {Builds} is too rare for {chance}");
}
