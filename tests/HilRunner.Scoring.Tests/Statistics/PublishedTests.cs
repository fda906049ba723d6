using HilRunner.Core.Statistics;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Tests.Statistics;

/// <summary>Values of publications; each source stands beside its rows.</summary>
public class PublishedTests
{
    // Newcombe, Stat. Med. 17:857–872, 1998, Table I, method 5 (Clopper–Pearson); values as scipy, statsmodels and R give them too.
    [TestCase(81, 263, 0.2527, 0.3676)]
    [TestCase(15, 148, 0.0578, 0.1617)]
    [TestCase(0, 20, 0, 0.1684)]
    [TestCase(1, 29, 0.0009, 0.1776)]
    [TestCase(29, 29, 0.8806, 1)]
    public void ClopperAndPearson(int k, int n, double low, double high)
    {
        var interval = BinomialBounds.TwoSided(k, n, 0.95)!.Value;
        Assert.That((interval.Low, interval.High), Is.EqualTo((low, high)).Using<(double, double)>((a, b) =>
            Math.Abs(a.Item1 - b.Item1) <= 0.00005 && Math.Abs(a.Item2 - b.Item2) <= 0.00005));
    }

    // The rule of three, 3/n: Jovanovic and Levy, Am. Stat. 51(2):137–139, 1997; exact one-sided 1 − 0.05^(1/n), and the two-sided upper end.
    [TestCase(20, 0.13911, 0.16843)]
    [TestCase(30, 0.09503, 0.11570)]
    [TestCase(59, 0.04951, 0.06061)]
    [TestCase(100, 0.02951, 0.03622)]
    [TestCase(300, 0.00994, 0.01222)]
    public void ZeroFailures(int n, double oneSided, double twoSided)
    {
        Assert.That(BinomialBounds.Upper(0, n, 0.95), Is.EqualTo(oneSided).Within(0.000005));
        Assert.That(BinomialBounds.TwoSided(0, n, 0.95)!.Value.High, Is.EqualTo(twoSided).Within(0.000005));
        Assert.That(BinomialBounds.Upper(0, n, 0.95), Is.LessThan(3.0 / n));
    }

    // The success run, n = ⌈ln(1 − C)/ln R⌉, as tables of reliability print it ("22 for 90/90", "59 for 95/95").
    [TestCase(0.50, 4, 7, 14, 69, 139, 693)]
    [TestCase(0.60, 5, 9, 18, 92, 183, 916)]
    [TestCase(0.70, 6, 12, 24, 120, 241, 1204)]
    [TestCase(0.80, 8, 16, 32, 161, 322, 1609)]
    [TestCase(0.90, 11, 22, 45, 230, 460, 2302)]
    [TestCase(0.95, 14, 29, 59, 299, 598, 2995)]
    [TestCase(0.99, 21, 44, 90, 459, 919, 4603)]
    public void SuccessRun(double confidence, params int[] trials) => Assert.That(
        new[] { 0.80, 0.90, 0.95, 0.99, 0.995, 0.999 }.Select(share => SampleSize.Trials(share, confidence, 0)), Is.EqualTo(trials));

    // The same with 0 to 5 failures; 59, 93 and 124 are also the sizes at which the 1st, 2nd, 3rd largest value bounds a 95 % quantile (Wilks, Ann. Math. Stat. 12:91–96, 1941).
    [TestCase(0.90, 0.90, 22, 38, 52, 65, 78, 91)]
    [TestCase(0.90, 0.95, 29, 46, 61, 76, 89, 103)]
    [TestCase(0.95, 0.90, 45, 77, 105, 132, 158, 184)]
    [TestCase(0.95, 0.95, 59, 93, 124, 153, 181, 208)]
    [TestCase(0.99, 0.95, 299, 473, 628, 773, 913, 1049)]
    public void FewFailures(double share, double confidence, params int[] trials)
    {
        Assert.That(Enumerable.Range(0, 6).Select(c => SampleSize.Trials(share, confidence, c)), Is.EqualTo(trials));
        for (int c = 0; c < trials.Length; c++)
        {
            double[] values = [.. Enumerable.Range(1, trials[c]).Select(v => (double)v)];
            Assert.That(QuantileBounds.Upper(values, share, confidence), Is.EqualTo(trials[c] - c), "the (c + 1)-th largest");
            Assert.That(QuantileBounds.Upper(values[1..], share, confidence), c == 0 ? Is.Null : Is.EqualTo(trials[c] - c + 1), "one fewer takes the next larger");
        }
    }

    // Fagerland, Lydersen, Laake, BMC Med. Res. Methodol. 13:91, 2013 (first two; the second's counts from memory); Agresti, Categorical Data Analysis, approval ratings (as R's help has them).
    [TestCase(1, 7, 0.07031, 0.03906)]
    [TestCase(6, 16, 0.05248, 0.03469)]
    [TestCase(150, 86, 3.716e-5, 2.893e-5)]
    [TestCase(0, 5, 0.0625, 0.03125)]
    [TestCase(1, 9, 0.02148, 0.01172)]
    public void McNemarsTest(int lost, int gained, double exact, double midP)
    {
        var test = McNemar.Test(lost, gained);
        Assert.That(test.Exact, Is.EqualTo(exact).Within(Half(exact)));
        Assert.That(test.MidP, Is.EqualTo(midP).Within(Half(midP)));
        Assert.That(McNemar.Test(gained, lost), Is.EqualTo(test), "two-sided");
    }

    /// <summary>Half of the last digit that the publication prints.</summary>
    private static double Half(double printed) => printed < 0.001 ? 0.00051e-5 : 0.0000051;

    [Test]
    public void FewerThanSixChangedTrialsShowNothingAtFivePercent()
    {
        Assert.That(McNemar.FewestThatShow(0.05), Is.EqualTo(6));
        Assert.That(McNemar.Test(0, 5).Exact, Is.EqualTo(0.0625).Within(1e-12));
        Assert.That(McNemar.Test(0, 6).Exact, Is.EqualTo(0.03125).Within(1e-12));
    }

    // Newcombe, Stat. Med. 17:2635–2650, 1998, Table III, method 10; cells e, f, g, h, estimate (f − g)/n. The last row: Agresti's approval data.
    [TestCase(36, 12, 2, 0, 0.0569, 0.3404)]
    [TestCase(20, 12, 2, 16, 0.0562, 0.3292)]
    [TestCase(18, 12, 2, 18, 0.0562, 0.3290)]
    [TestCase(36, 14, 0, 0, 0.1528, 0.4167)]
    [TestCase(35, 14, 0, 1, 0.1461, 0.4175)]
    [TestCase(18, 14, 0, 18, 0.1441, 0.3963)]
    [TestCase(2, 97, 1, 0, 0.8721, 0.9854)]
    [TestCase(0, 30, 0, 0, 0.8395, 1)]
    [TestCase(54, 0, 0, 0, -0.0664, 0.0664)]
    [TestCase(30, 0, 0, 24, -0.0358, 0.0358)]
    [TestCase(794, 150, 86, 570, 0.0212, 0.0587)]
    public void NewcombesPairedDifference(int e, int f, int g, int h, double low, double high)
    {
        var interval = PairedShares.Difference(e, g, f, h, 0.95)!.Value;
        Assert.That(interval.Low, Is.EqualTo(low).Within(0.00006));
        Assert.That(interval.High, Is.EqualTo(high).Within(0.00006));
    }

    // Wald, Sequential Analysis, 1947 (method; the example .1 .3 .02 .03 from memory); .01 .10 .05 .10 is a handbook's example with 0.939, 1.205, 0.0397.
    [TestCase(0.1, 0.3, 0.02, 0.03, 0.18617, 2.5826, 2.8754)]
    [TestCase(0.01, 0.10, 0.05, 0.10, 0.03975, 0.9389, 1.2054)]
    [TestCase(0.05, 0.20, 0.05, 0.10, 0.11029, 1.4449, 1.8550)]
    public void WaldsLines(double p0, double p1, double alpha, double beta, double slope, double accept, double reject)
    {
        var test = new SequentialTest(p0, p1, alpha, beta, 1000);
        Assert.That(test.Slope, Is.EqualTo(slope).Within(0.000005));
        Assert.That(test.AcceptIntercept, Is.EqualTo(accept).Within(0.00005));
        Assert.That(test.RejectIntercept, Is.EqualTo(reject).Within(0.00005));
    }

    [Test]
    public void WaldsNumbersOfTrials()
    {
        var first = new SequentialTest(0.1, 0.3, 0.02, 0.03, 1000);
        Assert.That(Enumerable.Range(0, 4).Select(f => First(first, f)), Is.EqualTo(new[] { 14, 20, 25, 30 }));
        Assert.That(new[] { 6, 7, 11, 12, 16, 17, 22, 23, 27, 28 }.Select(first.RejectAt), Is.EqualTo(new[] { 4, 5, 5, 6, 6, 7, 7, 8, 8, 9 }));
        var second = new SequentialTest(0.01, 0.10, 0.05, 0.10, 1000);
        Assert.That(Enumerable.Range(0, 2).Select(f => First(second, f)), Is.EqualTo(new[] { 24, 49 }));
        Assert.That(new[] { 19, 20, 45, 49 }.Select(second.RejectAt), Is.EqualTo(new[] { 2, 3, 3, 4 }));

        static int First(SequentialTest test, int failures) => Enumerable.Range(1, 100).First(n => test.AcceptAt(n) >= failures);
    }

    // Wald's approximation of the mean number of trials leaves out what the last step overshoots, which is most where one failure decides.
    [TestCase(0.1, 0.3, 0.02, 0.03, 28.7, 23.8)]
    [TestCase(0.01, 0.10, 0.05, 0.10, 28.0, 16.4)]
    public void TheMeanNumberOfTrialsIsNearWaldsApproximation(double p0, double p1, double alpha, double beta, double atP0, double atP1)
    {
        var test = new SequentialTest(p0, p1, alpha, beta, 2000);
        Assert.That(test.At(p0).MeanTrials / atP0, Is.InRange(1, 1.4));
        Assert.That(test.At(p1).MeanTrials / atP1, Is.InRange(1, 1.4));
    }

    // Hollander and Wolfe, Nonparametric Statistical Methods, as R's help has the data (the book from memory).
    [Test]
    public void HollanderAndWolfeUnpaired()
    {
        double[] x = [.80, .83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, .73, 1.46], y = [1.15, .88, .90, .74, 1.21];
        var test = MannWhitney.Test(x, y);
        Assert.That(test.U, Is.EqualTo(35));
        Assert.That(test.P, Is.EqualTo(0.2544).Within(0.00005));
        var shift = HodgesLehmann.Unpaired(y, x, 0.95)!.Value;
        Assert.That(shift.Shift, Is.EqualTo(0.305).Within(1e-12));
        Assert.That((shift.Interval!.Value.Low, shift.Interval!.Value.High), Is.EqualTo((-0.15, 0.76)).Using<(double, double)>((a, b) =>
            Math.Abs(a.Item1 - b.Item1) < 1e-12 && Math.Abs(a.Item2 - b.Item2) < 1e-12));
    }

    [Test]
    public void HollanderAndWolfePaired()
    {
        double[] first = [1.83, .50, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.30], second = [.878, .647, .598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29];
        double[] differences = [.. first.Zip(second, (a, b) => a - b)];
        var test = SignedRank.Test(differences);
        Assert.That((test.Sum, test.N), Is.EqualTo((40, 9)));
        Assert.That(test.P, Is.EqualTo(0.03906).Within(0.000005));
        var shift = HodgesLehmann.Paired(differences, 0.95)!.Value;
        Assert.That(shift.Shift, Is.EqualTo(0.46).Within(1e-12));
        Assert.That(shift.Interval!.Value.Low, Is.EqualTo(0.010).Within(1e-12));
        Assert.That(shift.Interval!.Value.High, Is.EqualTo(0.786).Within(1e-12));
    }
}
