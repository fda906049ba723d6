using CsCheck;
using HilRunner.Scoring.Statistics;
using Binomial = HilRunner.Core.Statistics.Binomial;

namespace HilRunner.Scoring.Tests.Statistics;

public class ArrangementTests
{
    // Darwin's fifteen pairs of plants, in eighths of an inch (Fisher, The Design of Experiments, 1935, section 21): 863 of 32
    // 768
    // arrangements lie as far out on one side. Data and result from memory.
    [Test]
    public void DarwinsPairs()
    {
        double[] differences = [49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48];
        var test = SignFlips.Test(differences, 1);
        Assert.That(test.Sum, Is.EqualTo(314));
        Assert.That(test.P, Is.EqualTo(1726 / 32768.0).Within(1e-12));
        Assert.That(test.Above, Is.EqualTo(863 / 32768.0).Within(1e-12));
        Assert.That(test.Least, Is.EqualTo(2 / 32768.0).Within(1e-12));
    }

    [Test]
    public void WithDifferencesOfOneItIsMcNemarsTest() => Gen.Select(Gen.Int[0, 60], Gen.Int[0, 60]).Sample((lost, gained) =>
    {
        var test = SignFlips.Test([.. Enumerable.Repeat(-1.0, lost), .. Enumerable.Repeat(1.0, gained)], 1);
        return Math.Abs(test.P - McNemar.Test(lost, gained).Exact) < 1e-9;
    });

    // Four and four runs, three and three: all choices of the candidate's runs, two of them the farthest.
    [TestCase(4, 4, 2 / 70.0)]
    [TestCase(3, 3, 0.1)]
    [TestCase(3, 1, 0.25)]
    [TestCase(1, 1, 1)]
    public void TheLeastThatSoManyRunsCanShow(int before, int now, double least) =>
        Assert.That(RunPermutation.Least([(before, now)]), Is.EqualTo(least).Within(1e-9));

    [Test]
    public void SixScenariosOnceOnEachBuildCanShowAChangeAndFiveCannot()
    {
        Assert.That(RunPermutation.Least(Enumerable.Repeat((1, 1), 6)), Is.EqualTo(2 / 64.0).Within(1e-9));
        Assert.That(RunPermutation.RunsFor(6, 0.05), Is.EqualTo(1));
        Assert.That(RunPermutation.RunsFor(5, 0.05), Is.EqualTo(2));
        Assert.That(RunPermutation.RunsFor(1, 0.05), Is.EqualTo(4));
        Assert.That(RunPermutation.RunsFor(1, 1e-6), Is.Null);
    }

    /// <summary>Beside the slow way: every flag of every run, one arrangement after the other.</summary>
    [Test]
    public void ExchangedRunsAreAsEveryArrangementOneByOne()
    {
        var scenario = Gen.Select(Gen.Int[1, 4], Gen.Int[1, 3]).SelectMany((b, n) => Gen.Int[0, 5].Array[b + n].Select(v =>
            (Before: b, Values: v)));
        scenario.Array[1, 3].Sample(all =>
        {
            var test = RunPermutation.Test([.. all.Select(s => new PermutedRuns(s.Before, s.Values.Length - s.Before, now =>
                Shift(s.Values, now)))], 7);
            double[] sums = [0];
            foreach (var (before, values) in all)
            {
                double[] shifts = [.. Enumerable.Range(0, 1 << values.Length).Select(bits => Enumerable.Range(0,
                    values.Length).Select(i => (bits >> i & 1) == 1).ToArray())
                    .Where(now => now.Count(n => n) == values.Length - before).Select(now => Shift(values, now))];
                sums = [.. sums.SelectMany(s => shifts.Select(v => s + v))];
            }
            double seen = all.Sum(s => Shift(s.Values, [.. Enumerable.Range(0, s.Values.Length).Select(i => i >= s.Before)]));
            double Share(Func<double, bool> counts) => (double)sums.Count(counts) / sums.Length;
            double most = sums.Max(Math.Abs);
            return Near(test.Sum, seen) && Near(test.P, Share(s => Math.Abs(s) >= Math.Abs(seen) - 1e-9)) && Near(test.Above,
                Share(s => s >= seen - 1e-9))
                && Near(test.Below, Share(s => s <= seen + 1e-9)) && Near(test.Least, Share(s => Math.Abs(s) >= most - 1e-9));
        });

        static double Shift(int[] values, bool[] now) =>
            values.Where((_, i) => now[i]).Average() - values.Where((_, i) => !now[i]).Average();

        static bool Near(double a, double b) => Math.Abs(a - b) < 1e-9;
    }

    /// <summary>
    /// Where there are too many sums for each to be reckoned, they are drawn: p then varies by what so many draws do.
    /// </summary>
    [Test]
    public void DrawnArrangementsAgreeWithReckonedOnes()
    {
        int seed = Environment.TickCount;
        TestContext.Out.WriteLine($"seed {seed}");
        var random = new Random(seed);
        // Twenty-four sizes that differ: 2^24 sums, which are drawn. The slow twin adds them in two halves.
        double[] differences = [.. Enumerable.Range(0, 24).Select(i => (1 + 0.05 * i) * (random.NextDouble() < 0.7 ? 1
            : -1) + random.NextDouble() * 1e-3)];
        double seen = differences.Sum();
        double[] Half(double[] d) => [.. Enumerable.Range(0, 1 << d.Length).Select(bits => d.Select((v, i) =>
            (bits >> i & 1) == 1 ? v : -v).Sum()).Order()];
        double[] first = Half(differences[..12]), second = Half(differences[12..]);
        long far = first.Sum(a => (long)second.Count(b => Math.Abs(a + b) >= Math.Abs(seen) - 1e-9));
        double exact = far / Math.Pow(2, 24), drawn = SignFlips.Test(differences, seed).P;
        int counted = (int)Math.Round(drawn * 100_000) - 1;
        TestContext.Out.WriteLine($"exact {exact}, drawn {drawn}");
        Assert.That(Binomial.AtMost(counted, 99_999, exact), Is.GreaterThan(1e-6));
        Assert.That(Binomial.AtLeast(counted, 99_999, exact), Is.GreaterThan(1e-6));
        Assert.That(SignFlips.Test(differences, seed).P, Is.EqualTo(drawn), "the same seed, the same draws");
    }
}
