namespace HilRunner.Engine.Tests.Truth;

public class BinomialTests
{
    // scipy.stats.binom.cdf(k, n, 0.99), scipy 1.10.1.
    [TestCase(0, 3, 1.0000000000000027e-06)]
    [TestCase(2, 3, 0.02970100000000003)]
    [TestCase(1960, 2000, 4.811531715232143e-05)]
    [TestCase(1965, 2000, 0.0014064364861061216)]
    [TestCase(1980, 2000, 0.5301894837340031)]
    [TestCase(2000, 2000, 1)]
    public void AsAReferenceLibraryHasIt(int k, int n, double expected) =>
        Assert.That(Binomial.AtMost(k, n, 0.99), Is.EqualTo(expected).Within(1e-7).Percent);
}
