using HilRunner.Scoring.Isolating;

namespace HilRunner.Scoring.Tests.Isolating;

public class NoisyBisectionTests
{
    private const int Images = 33, Nights = 200;

    /// <summary>200 fixed seeds: 32 images of which one is the first bad one, a fault that shows in so many plays.</summary>
    [TestCase(0.6)]
    [TestCase(1.0)]
    public void TheFirstBadImageIsFoundThoughTheFaultShowsOnlySometimes(double share)
    {
        int right = 0, plays = 0;
        for (int seed = 0; seed < Nights; seed++)
        {
            var random = new Random(seed);
            int truth = random.Next(1, Images), shown = 0;
            for (int i = 0; i < 10; i++) { shown += random.NextDouble() < share ? 1 : 0; }
            if (shown == 0) { shown = 1; }
            var search = new NoisyBisection(Images, shown, 10);
            while (search.Confidence < 0.97 && search.Next() is { } image) { search.Add(image, image >= truth && random.NextDouble() < share); }
            plays += search.Plays;
            if (search.First == truth) { right++; }
        }
        // A channel that loses a mark with probability p carries log2(1 + (1 − p) p^(p / (1 − p))) bits a play (Cover and Thomas, Elements of Information Theory, problem 7.8, from memory).
        double p = 1 - share, capacity = Math.Log2(1 + (1 - p) * Math.Pow(p, p / (1 - p))), floor = Math.Log2(Images - 1) / capacity;
        TestContext.Out.WriteLine($"share {share}: {right} of {Nights} right, {(double)plays / Nights:0.0} plays on average, floor {floor:0.0}");
        Assert.That(right, Is.GreaterThanOrEqualTo(0.95 * Nights));
        Assert.That((double)plays / Nights, Is.LessThan(3 * floor), "plays beside the information-theoretic floor");
    }

    /// <summary>Eight revisions, equally likely, a fault that shows in half the plays: one play of the fourth that does not show it leaves P(first ≤ 4) = 1/3, three leave 1/9 (arithmetic of Bayes' rule).</summary>
    [TestCase(1, 1.0 / 3)]
    [TestCase(3, 1.0 / 9)]
    public void OnePlayWithoutTheFaultIsNoProof(int plays, double expected)
    {
        // 500 of 1000: the share is as good as known.
        var search = new NoisyBisection(9, 500, 1000);
        for (int i = 0; i < plays; i++) { search.Add(4, false); }
        Assert.That(search.ProbabilityUpTo(4), Is.EqualTo(expected).Within(0.02));
    }

    [Test]
    public void ImagesThatDoNotStartAreLeftOutAndNotToldApart()
    {
        var search = new NoisyBisection(9, 10, 10);
        search.Skip(4);
        search.Skip(5);
        while (search.Confidence < 0.97 && search.Next() is { } image)
        {
            Assert.That(image, Is.Not.EqualTo(4).And.Not.EqualTo(5));
            search.Add(image, image >= 5);
        }
        Assert.That((search.First, search.Last), Is.EqualTo((4, 6)));
    }

    [Test]
    public void WhatAlwaysOrNeverShowsIsDecidedAfterAFewPlays()
    {
        foreach (bool shown in (bool[])[true, false])
        {
            var test = new RepeatedTest(1);
            int plays = 0;
            while (test.Shows is null) { test.Add(shown); plays++; }
            Assert.That((test.Shows, plays), Is.EqualTo((shown, shown ? 3 : 2)));
        }
    }
}
