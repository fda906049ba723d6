using HilRunner.Core.Statistics;
using HilRunner.Scoring.Statistics;
using HilRunner.Testing;

namespace HilRunner.Scoring.Tests.Statistics;

/// <summary>Random inputs beside scipy.stats (Debian's python3-scipy). The seed is printed.</summary>
public class AgainstScipyTests
{
    private const string Stats = "import scipy.stats as st\n";
    private readonly int _seed = Environment.TickCount;
    private Random _random = null!;

    [SetUp]
    public void Seed()
    {
        TestContext.Out.WriteLine($"seed {_seed}");
        _random = new(_seed);
    }

    [Test]
    public void Bounds()
    {
        var cases = new List<(int K, int N, double C)>();
        for (int i = 0; i < 400; i++)
        {
            int n = (int)Math.Exp(_random.NextDouble() * Math.Log(1e6)) + 1;
            int k = _random.Next(4) switch { 0 => Math.Min(n, _random.Next(4)), 1 => Math.Max(0, n - _random.Next(4)), _ => _random.Next(n + 1) };
            cases.Add((k, n, _random.Next(3) switch { 0 => 0.9, 1 => 0.999999, _ => 0.5 + _random.NextDouble() / 2.01 }));
        }
        double[] expected = Scipy.Run(
            Stats + "k, n, c = x.reshape(-1, 3).T\ny = np.stack([np.where(k > 0, st.beta.ppf(1 - c, k, n - k + 1), 0), np.where(k < n, st.beta.ppf(c, k + 1, n - k), 1)], 1).ravel()",
            [.. cases.SelectMany(c => new double[] { c.K, c.N, c.C })]);
        // ln Γ(10⁶) is 10⁷: what is left of a double's digits after it is 1e-9 of the result.
        const double relative = 1e-8;
        Assert.Multiple(() =>
        {
            for (int i = 0; i < cases.Count; i++)
            {
                var (k, n, c) = cases[i];
                Assert.That(BinomialBounds.Lower(k, n, c), Is.EqualTo(expected[2 * i]).Within(relative * expected[2 * i]), $"lower {k}/{n} at {c}");
                Assert.That(BinomialBounds.Upper(k, n, c), Is.EqualTo(expected[2 * i + 1]).Within(relative * expected[2 * i + 1]), $"upper {k}/{n} at {c}");
            }
        });
    }

    [Test]
    public void SignedRanks()
    {
        for (int i = 0; i < 12; i++)
        {
            int n = _random.Next(1, 26);
            double[] distinct = [.. Enumerable.Range(0, n).Select(_ => _random.NextDouble() - 0.4)];
            double[] expected = Scipy.Run(Stats + "r = st.wilcoxon(x, mode='exact')\ny = [min(x[x > 0].size and st.rankdata(abs(x))[x > 0].sum(), 1e9), r.pvalue]", distinct);
            var test = SignedRank.Test(distinct);
            Assert.That(test.Sum, Is.EqualTo(expected[0]));
            Assert.That(test.P, Is.EqualTo(expected[1]).Within(1e-9), string.Join(" ", distinct));
        }
        double[] many = [.. Enumerable.Range(0, 500).Select(_ => Math.Round(_random.NextDouble() - 0.45, 2))];
        Assert.That(
            SignedRank.Test(many).P,
            Is.EqualTo(Scipy.Run(Stats + "y = st.wilcoxon(x, mode='approx', correction=True).pvalue", many)[0]).Within(1e-9));
    }

    /// <summary>Ties by the exact distribution: scipy has none for them, so all signs are gone through.</summary>
    [Test]
    public void SignedRanksWithTiesBesideAllSigns()
    {
        for (int i = 0; i < 50; i++)
        {
            double[] tied = [.. Enumerable.Range(0, _random.Next(1, 13)).Select(_ => (double)_random.Next(-3, 4)).Where(d => d != 0)];
            double[] ranks = [.. tied.Select(d => tied.Average(e => Math.Abs(e) < Math.Abs(d) ? 1 : Math.Abs(e) == Math.Abs(d) ? 0.5 : 0) * tied.Length + 0.5)];
            double sum = tied.Zip(ranks, (d, r) => d > 0 ? r : 0).Sum();
            int atMost = 0, atLeast = 0, all = 1 << tied.Length;
            for (int signs = 0; signs < all; signs++)
            {
                double v = ranks.Where((_, j) => (signs >> j & 1) == 1).Sum();
                if (v <= sum + 1e-9) { atMost++; }
                if (v >= sum - 1e-9) { atLeast++; }
            }
            var test = SignedRank.Test(tied);
            Assert.That(test.Sum, Is.EqualTo(sum).Within(1e-9));
            Assert.That(test.P, Is.EqualTo(Math.Min(1, 2.0 * Math.Min(atMost, atLeast) / all)).Within(1e-12));
        }
    }

    [Test]
    public void RankSums()
    {
        for (int i = 0; i < 12; i++)
        {
            int n = _random.Next(1, 30), m = _random.Next(1, 30);
            bool tied = i % 2 == 0;
            double[] all = [.. Enumerable.Range(0, n + m).Select(_ => tied ? _random.Next(8) : _random.NextDouble())];
            double[] expected = Scipy.Run(
                Stats + $"r = st.mannwhitneyu(x[:{n}], x[{n}:], method='{(tied ? "asymptotic" : "exact")}')\ny = [r.statistic, r.pvalue]", all);
            if (tied && all.Distinct().Count() == all.Length) { continue; }
            var test = MannWhitney.Test(all[..n], all[n..]);
            Assert.That(test.U, Is.EqualTo(expected[0]));
            Assert.That(test.P, Is.EqualTo(double.IsNaN(expected[1]) ? 1 : expected[1]).Within(1e-9));
        }
    }

    [Test]
    public void FishersTest()
    {
        var cases = Enumerable.Range(0, 200).Select(_ => (N: _random.Next(1, 60), M: _random.Next(1, 60))).Select(c => (A: _random.Next(c.N + 1), c.N, B: _random.Next(c.M + 1), c.M)).ToList();
        double[] expected = Scipy.Run(
            Stats + "y = [st.fisher_exact([[a, n - a], [b, m - b]])[1] for a, n, b, m in x.reshape(-1, 4)]",
            [.. cases.SelectMany(c => new double[] { c.A, c.N, c.B, c.M })]);
        Assert.That(cases.Select(c => FisherExact.Test(c.A, c.N, c.B, c.M)!.Value), Is.EqualTo(expected).Within(1e-9));
    }

    /// <summary>The median and the interval beside all pairs, held and sorted.</summary>
    [Test]
    public void ShiftsBesideAllPairs()
    {
        for (int i = 0; i < 200; i++)
        {
            int n = _random.Next(6, 40);
            double[] d = [.. Enumerable.Range(0, n).Select(_ => i % 3 == 0 ? _random.Next(-3, 4) : _random.NextDouble() * 2e9 - 1e9)];
            double[] averages = [.. d.SelectMany((a, j) => d.Skip(j).Select(b => (a + b) / 2)).Order()];
            int cut = (int)SignedRank.Critical(n, 0.025);
            var shift = HodgesLehmann.Paired(d, 0.95)!.Value;
            Assert.That(shift.Shift, Is.EqualTo((averages[(averages.Length - 1) / 2] + averages[averages.Length / 2]) / 2));
            Assert.That(shift.Interval, Is.EqualTo(new Interval(averages[cut - 1], averages[^cut])));
        }
    }

    [Test]
    public void TheShiftOfManyTrialsNeedsNoMemoryForTheirPairs()
    {
        double[] d = [.. Enumerable.Range(0, 100_000).Select(_ => _random.NextDouble() - 0.3)];
        long before = GC.GetAllocatedBytesForCurrentThread();
        var shift = HodgesLehmann.Paired(d, 0.95)!.Value;
        Assert.That(GC.GetAllocatedBytesForCurrentThread() - before, Is.LessThan(10_000_000));
        Assert.That(shift.Shift, Is.EqualTo(0.2).Within(0.01));
        Assert.That(shift.Interval!.Value.High - shift.Interval!.Value.Low, Is.InRange(0.002, 0.006));
    }

    [Test]
    public void HolmsAdjustment()
    {
        // As the paper's step-down procedure says it, one hypothesis after another.
        double[] p = [.. Enumerable.Range(0, 12).Select(_ => Math.Round(_random.NextDouble(), 2) / 5)];
        double[] adjusted = [.. Holm.Adjust(p)];
        foreach (double level in (double[])[0.01, 0.05, 0.2])
        {
            int[] order = [.. Enumerable.Range(0, p.Length).OrderBy(i => p[i])];
            int rejected = order.TakeWhile((i, rank) => p[i] <= level / (p.Length - rank)).Count();
            Assert.That(adjusted.Count(a => a <= level + 1e-15), Is.EqualTo(rejected), $"at {level}: {string.Join(" ", p)}");
        }
    }
}
