using HilRunner.Core.Scenarios;
using HilRunner.Core.Statistics;
using HilRunner.Scoring.Comparing;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Tests.Comparing;

public class BuildComparisonTests
{
    private static readonly CompareTolerances s_none = new();
    private static readonly OutputScore s_output = Inputs.One(Inputs.WorkedExample);

    // Fagerland, Lydersen, Laake, BMC Med. Res. Methodol. 13:91, 2013: 1 and 7 of 21 pairs, exact p .07031, mid-p .03906.
    [Test]
    public void APublishedExampleThroughTheWholeComparison()
    {
        bool[] before = [.. Many(true, 8), .. Many(false, 13)], now = [true, .. Many(false, 7), true, .. Many(false, 12)];
        var d = Compare([Run(before)], [Run(now)]).Differences.First(d => d.Measure == Measure.Recognised);
        Assert.That((d.Lost, d.Gained, d.Pairs, d.Change), Is.EqualTo((7, 1, 21, Change.NoneShown)));
        Assert.That(d.P, Is.EqualTo(0.07031).Within(0.000005));
        Assert.That(d.MidP, Is.EqualTo(0.03906).Within(0.000005));
        Assert.That(d.Smallest, Is.EqualTo(6.0 / 21));
    }

    // Hollander and Wolfe's paired example (R's help; the book from memory): pseudo-median .46, 95 % interval .010 to .786, p .03906.
    [Test]
    public void APublishedShiftThroughTheWholeComparison()
    {
        double[] before = [.878, .647, .598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29], now = [1.83, .50, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.30];
        var comparison = Compare([Run(Many(true, 9), before)], [Run(Many(true, 9), now)]);
        var d = comparison.Differences.Single(d => d.Measure == Measure.Reaction);
        Assert.That(d.Shift, Is.EqualTo(0.46).Within(1e-9));
        Assert.That((d.Interval!.Value.Low, d.Interval!.Value.High), Is.EqualTo((0.010, 0.786)).Using<(double, double)>((a, b) => Math.Abs(a.Item1 - b.Item1) < 1e-9 && Math.Abs(a.Item2 - b.Item2) < 1e-9));
        Assert.That(d.P, Is.EqualTo(0.03906).Within(0.000005));
        Assert.That((d.Change, comparison.Overall), Is.EqualTo((Change.Worse, Change.Worse)));
        Assert.That(BuildComparison.Of([Run(Many(true, 9), before)], [Run(Many(true, 9), now)], new(ReactionS: 1)).Overall, Is.EqualTo(Change.NoneShown), "half a second is nobody's business here");
    }

    [TestCase(5, Change.TooFew)]
    [TestCase(6, Change.Worse)]
    public void SixLostTrialsAreTheFewestThatShowAChange(int n, Change outcome)
    {
        var comparison = Compare([Run(Many(true, n))], [Run(Many(false, n))]);
        Assert.That(comparison.Differences[0].Change, Is.EqualTo(outcome));
        Assert.That(comparison.Overall, Is.EqualTo(outcome));
    }

    [Test]
    public void RepeatsOfATrialAreOnePair()
    {
        var before = Enumerable.Range(1, 20).Select(r => Run(Many(true, 3), repeat: r)).ToList();
        var now = Enumerable.Range(1, 20).Select(r => Run(Many(false, 3), repeat: r)).ToList();
        var d = Compare(before, now).Differences[0];
        Assert.That((d.Lost, d.Pairs, d.Change), Is.EqualTo((3, 3, Change.TooFew)), "sixty plays of three trials are three");
    }

    [Test]
    public void ATrialThatFlipsOnOneImageMakesNoBuildWorse()
    {
        // All eight are lost in the second repeat only.
        var comparison = Compare([Run(Many(true, 8), repeat: 1), Run(Many(true, 8), repeat: 2)], [Run(Many(true, 8), repeat: 1), Run(Many(false, 8), repeat: 2)]);
        var d = comparison.Differences[0];
        Assert.That((d.Unsteady, d.Lost, d.Pairs, d.Change), Is.EqualTo((8, 0, 0, Change.TooFew)));
        Assert.That(comparison.Pairs.Select(p => p.Change), Is.All.EqualTo(TrialChange.Unsteady));
    }

    [Test]
    public void ATrialThatIsKnownToFlipMakesNoBuildWorse()
    {
        var known = Enumerable.Range(0, 3).Select(i => new TrialKey("a", "m", s_output.Output, "carried", i * 10_000_000_000L)).ToHashSet();
        var comparison = BuildComparison.Of([Run(Many(true, 8))], [Run(Many(false, 8))], s_none, known);
        var d = comparison.Differences[0];
        Assert.That((d.Unsteady, d.Lost, d.Pairs, d.Change), Is.EqualTo((3, 5, 5, Change.TooFew)), "eight lost trials would be worse");
        Assert.That(BuildComparison.Of([Run(Many(true, 8), motion: "other")], [Run(Many(false, 8), motion: "other")], s_none, known).Overall, Is.EqualTo(Change.Worse), "another motion is another trial");
    }

    [Test]
    public void AnotherMotionUnderTheSameNameIsNotPaired()
    {
        var comparison = Compare([Run(Many(true, 8)), Run(Many(true, 8), scenario: "b")], [Run(Many(true, 8)), Run(Many(false, 8), scenario: "b", motion: "cut anew")]);
        Assert.That((comparison.Pairs.Count, comparison.Overall), Is.EqualTo((8, Change.NoneShown)));
        Assert.That(comparison.NotPaired, Is.EqualTo(new[] { "b" }));
    }

    [Test]
    public void WithNothingInCommonSharesAreComparedUnpaired()
    {
        var comparison = Compare([Run(Many(true, 20))], [Run([.. Many(true, 8), .. Many(false, 12)], scenario: "other")]);
        var d = comparison.Differences[0];
        Assert.That(comparison.Paired, Is.False);
        Assert.That(d.P, Is.EqualTo(FisherExact.Test(20, 20, 8, 20)));
        Assert.That((d.Change, comparison.Overall), Is.EqualTo((Change.Worse, Change.Worse)));
        Assert.That(Compare([Run(Many(true, 2))], [Run(Many(false, 2), scenario: "other")]).Overall, Is.EqualTo(Change.TooFew));
    }

    [Test]
    public void ADeviceThatResetsWhereItDidNotIsWorse()
    {
        var comparison = Compare([Run(Many(true, 8))], [Run(Many(true, 8)) with { Device = new(1, 0, null) }]);
        Assert.That(comparison.Differences.Single(d => d.Measure == Measure.DeviceResets).Change, Is.EqualTo(Change.Worse));
        Assert.That(Compare([Run(Many(true, 8)) with { Device = new(1, 0, null) }], [Run(Many(true, 8)) with { Device = new(1, 0, null) }]).Overall, Is.EqualTo(Change.NoneShown));
    }

    [TestCase(20_000, Change.Worse)]
    [TestCase(90, Change.NoneShown)]
    public void TheClocksRateIsComparedWithBothUncertainties(double ppm, Change outcome)
    {
        ComparedRun With(double rate) => Run(Many(true, 8)) with { Device = new(0, 0, rate) { ClockPpmUncertainty = 20 } };
        Assert.That(Compare([With(5)], [With(ppm)]).Differences.Single(d => d.Measure == Measure.DeviceClockPpm).Change, Is.EqualTo(outcome));
    }

    [Test]
    public void NothingAtAllIsNoChangeAndNoError()
    {
        var comparison = Compare([], []);
        Assert.That((comparison.Differences.Count, comparison.Pairs.Count, comparison.Overall), Is.EqualTo((0, 0, Change.TooFew)));
    }

    /// <summary>Ten thousand nights of one and the same image on trials that each come out at random: four classes of many sizes, two repeats.</summary>
    [Test]
    public void IdenticalBuildsAreCalledWorseNoMoreOftenThanTheLevelSays()
    {
        var random = Seeded();
        int worse = 0, changed = 0;
        const int nights = 10_000;
        string[] classes = ["a", "b", "c", "d"];
        int[] sizes = [6, 12, 30, 60];
        for (int night = 0; night < nights; night++)
        {
            ComparedRun Night() => Run([.. classes.SelectMany((c, i) => Enumerable.Range(0, sizes[i]).Select(_ => (c, random.NextDouble() < 0.75)))]);
            var shares = Compare([Night()], [Night()]).Differences.Where(d => d.Measure == Measure.Recognised).ToList();
            if (shares.Any(d => d.Change == Change.Worse)) { worse++; }
            if (shares.Any(d => d.Change is Change.Worse or Change.Better)) { changed++; }
        }
        TestContext.Out.WriteLine($"worse {worse}, changed {changed} of {nights}");
        Assert.That(Binomial.AtLeast(changed, nights, BuildComparison.Level), Is.GreaterThan(1e-6), $"{changed} of {nights} called changed");
        Assert.That(Binomial.AtLeast(worse, nights, BuildComparison.Level / 2), Is.GreaterThan(1e-6), $"{worse} of {nights} called worse");
        Assert.That(changed, Is.GreaterThan(nights / 200), "a test that never cries is no test");
    }

    /// <summary>As it states what it could have shown: a drop of ten points, with the trials that are asked for, at the power promised.</summary>
    [Test]
    public void ADropOfTenPointsIsFoundAtThePowerPromised()
    {
        var random = Seeded();
        const double lost = 0.9 * 0.2, gained = 0.1 * 0.8, power = 0.8;
        int asked = PairedShares.Pairs(lost, gained, BuildComparison.Level, power)!.Value;
        double promised = PairedShares.Power(asked, lost, gained, BuildComparison.Level);
        const int builds = 2_000;
        int found = 0;
        for (int build = 0; build < builds; build++)
        {
            var comparison = Compare([Run([.. Enumerable.Range(0, asked).Select(_ => random.NextDouble() < 0.9)])], [Run([.. Enumerable.Range(0, asked).Select(_ => random.NextDouble() < 0.8)])]);
            if (comparison.Differences[0].Change == Change.Worse) { found++; }
        }
        TestContext.Out.WriteLine($"{found} of {builds} with {asked} trials, promised {promised:0.000}");
        Assert.That(Binomial.AtMost(found, builds, promised), Is.GreaterThan(1e-6));
        Assert.That(Binomial.AtLeast(found, builds, promised), Is.GreaterThan(1e-6));
    }

    private static Random Seeded()
    {
        int seed = Environment.TickCount;
        TestContext.Out.WriteLine($"seed {seed}");
        return new(seed);
    }

    private static BuildComparison Compare(IReadOnlyList<ComparedRun> baseline, IReadOnlyList<ComparedRun> candidate) => BuildComparison.Of(baseline, candidate, s_none);

    private static bool[] Many(bool value, int n) => [.. Enumerable.Repeat(value, n)];

    private static ComparedRun Run(bool[] recognised, double[]? reactionS = null, int repeat = 1, string scenario = "a", string motion = "m") =>
        Run([.. recognised.Select(r => ("carried", r))], reactionS, repeat, scenario, motion);

    private static ComparedRun Run((string Class, bool Recognised)[] trials, double[]? reactionS = null, int repeat = 1, string scenario = "a", string motion = "m")
    {
        return new()
        {
            Scenario = scenario,
            Motion = motion,
            Repeat = repeat,
            Device = new(0, 0, null),
            Outputs =
            [
                s_output with
                {
                    Trials =
                    [
                        .. trials.Select((t, i) => new TrialScore
                        {
                            Class = t.Class, StartNs = i * 10_000_000_000L, EndNs = (i + 1) * 10_000_000_000L, Already = false, Missed = !t.Recognised, Recognised = t.Recognised, Counted = true,
                            ReactionNs = t.Recognised ? (long)((reactionS?[i] ?? 1) * 1e9) : null,
                        }),
                    ],
                },
            ],
        };
    }
}
