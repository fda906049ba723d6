using System.Globalization;
using HilRunner.Core.Statistics;
using HilRunner.Testing;

namespace HilRunner.Scoring.Tests.Statistics;

public class PoissonBoundsTests
{
    // Garwood, Biometrika 28:437, 1936: two-sided 95 % limits of a count, as handbooks print them (from memory).
    [TestCase(0, 0, 3.689)]
    [TestCase(1, 0.0253, 5.572)]
    [TestCase(5, 1.623, 11.668)]
    [TestCase(10, 4.795, 18.390)]
    [TestCase(20, 12.217, 30.888)]
    [TestCase(100, 81.364, 121.627)]
    public void LimitsAreThoseOfTheTables(int count, double low, double high)
    {
        Assert.That(PoissonBounds.Lower(count, 0.975), Is.EqualTo(low).Within(0.0006));
        Assert.That(PoissonBounds.Upper(count, 0.975), Is.EqualTo(high).Within(0.0006));
    }

    /// <summary>Half of a quantile of χ² with 2k and 2k + 2 degrees of freedom, by scipy.</summary>
    [Test]
    public void LimitsAreThoseOfScipy()
    {
        double[] counts = [0.5, 1, 2, 3, 7.25, 12, 40, 250.5, 3000];
        foreach (double confidence in (double[])[0.5, 0.8, 0.9, 0.95, 0.999])
        {
            string c = confidence.ToString(CultureInfo.InvariantCulture);
            double[] both = Scipy.Run(
                $"from scipy.stats import chi2\ny = np.concatenate([chi2.ppf(1 - {c}, 2 * x) / 2, chi2.ppf({c}, 2 * x + 2) / 2])", counts);
            for (int i = 0; i < counts.Length; i++)
            {
                string what = $"{counts[i]} at {c}";
                Assert.That(PoissonBounds.Lower(counts[i], confidence), Is.EqualTo(both[i]).Within(1e-8).Percent, what);
                Assert.That(PoissonBounds.Upper(counts[i], confidence), Is.EqualTo(both[counts.Length + i])
                    .Within(1e-8).Percent, what);
            }
        }
    }

    /// <summary>
    /// The definition: at the bound so few, or so many, have the probability that the confidence leaves. Term by term.
    /// </summary>
    [Test]
    public void AtTheBoundTheCountIsAsUnlikelyAsTheConfidenceSays()
    {
        for (int count = 0; count < 40; count++)
        {
            foreach (double confidence in (double[])[0.6, 0.9, 0.99])
            {
                Assert.That(AtMost(count, PoissonBounds.Upper(count, confidence)), Is.EqualTo(1 - confidence).Within(1e-10));
                if (count == 0) { continue; }
                Assert.That(1 - AtMost(count - 1, PoissonBounds.Lower(count, confidence)), Is.EqualTo(1 - confidence)
                    .Within(1e-10));
            }
        }
    }

    [Test]
    public void WhatIsNoCountIsRefused()
    {
        Assert.That(() => PoissonBounds.Upper(-1, 0.9), Throws.InstanceOf<ArgumentOutOfRangeException>());
        Assert.That(() => PoissonBounds.Lower(double.NaN, 0.9), Throws.InstanceOf<ArgumentOutOfRangeException>());
        Assert.That(() => PoissonBounds.Lower(1, 1), Throws.InstanceOf<ArgumentOutOfRangeException>());
    }

    private static double AtMost(int count, double mean)
    {
        double term = Math.Exp(-mean), sum = term;
        for (int k = 1; k <= count; k++) { sum += term *= mean / k; }
        return sum;
    }
}
