using HilRunner.Core.Recordings;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Statistics;
using HilRunner.Scoring.Pooling;
using MathNet.Numerics.Distributions;

namespace HilRunner.Scoring.Tests.Pooling;

/// <summary>False alarms an hour over all runs, with a confidence.</summary>
public class AlarmJudgeTests
{
    private const double Hour = 3600;
    private static readonly Limit s_limit = new(Measure.FalseAlarmsPerHour) { Class = "dropped", AtMost = 1, Confidence = 0.9 };

    // Without an alarm the bound is −ln(0.1) = 2.3026 alarms: 2.31 h show at most one an hour.
    [TestCase(2.31, 0, Outcome.Held,
        "0 false alarms in 2.31 h of motion, each stretch once: shows at most 0.9968 an hour at 90 %")]
    [TestCase(2.3, 0, Outcome.Open,
        "0 false alarms in 2.3 h of motion, each stretch once: shows at most 1.002 an hour at 90 %; 2.31 h with no more of them would do")]
    [TestCase(4, 1, Outcome.Held, "1 false alarm in 4 h of motion, each stretch once: shows at most 0.9725 an hour at 90 %")]
    [TestCase(2, 7, Outcome.Broken, "7 false alarms in 2 h of motion, each stretch once: shows at least 1.947 an hour at 90 %")]
    public void OneStretch_ByTheExactBound(double hours, int alarms, Outcome outcome, string why)
    {
        var pooled = Judge([Heard("a", 0, hours * Hour, alarms)]);
        Assert.That((pooled.Judged.Why, pooled.Judged.Outcome), Is.EqualTo((why, outcome)));
        Assert.That(pooled.Shown, Is.EqualTo(PoissonBounds.Upper(alarms, 0.9) / hours).Within(1e-12));
        Assert.That(pooled.Judged.Figure, Is.EqualTo(alarms / hours).Within(1e-12));
    }

    [Test]
    public void PlayingAStretchAgainIsNoMoreTime()
    {
        var once = Judge([Heard("a", 0, Hour, 0)]);
        var often = Judge([.. Enumerable.Range(0, 50).Select(_ => Heard("a", 0, Hour, 0))]);
        Assert.That(often.Shown, Is.EqualTo(once.Shown));
        Assert.That((often.Units, often.Plays, often.Heard!.OnceNs, often.Heard.AllNs),
            Is.EqualTo((1, 50, (long)(Hour * 1e9), (long)(50 * Hour * 1e9))));
        Assert.That(often.Judged.Outcome, Is.EqualTo(Outcome.Open));
    }

    /// <summary>Each stretch counts as its worst play for the claim, and as its best against it.</summary>
    [Test]
    public void AStretchThatFlipsShowsNothingEitherWay()
    {
        var plays = Enumerable.Range(0, 10).SelectMany(i => new[] { Heard($"r{i}", 0, Hour, 5), Heard($"r{i}", 0, Hour, 0) })
            .ToList();
        var pooled = Judge(plays);
        Assert.That(pooled.Judged.Outcome, Is.EqualTo(Outcome.Open));
        Assert.That((pooled.Heard!.Alarms, pooled.Heard.AllAlarms, pooled.Heard.OnceNs),
            Is.EqualTo((50, 50, (long)(10 * Hour * 1e9))));
        Assert.That(Judge([.. plays.Where(p => p.Alarms!["dropped"] > 0)]).Judged.Outcome, Is.EqualTo(Outcome.Broken));
        Assert.That(Judge([.. plays.Where(p => p.Alarms!["dropped"] == 0)]).Judged.Outcome, Is.EqualTo(Outcome.Held));
    }

    /// <summary>Ten alarms of one walk are not ten findings, for a claim or against it.</summary>
    [Test]
    public void AlarmsOfOneSourceCountAsFew()
    {
        HeardStretch[] spread = [.. Enumerable.Range(0, 10).Select(i => Heard($"r{i}", 0, Hour, 2, source: $"person {i}"))];
        HeardStretch[] heaped = [.. Enumerable.Range(0, 10)
            .Select(i => Heard($"r{i}", 0, Hour, i == 0 ? 20 : 0, source: $"person {i}"))];
        Assert.That(Judge(spread).Judged.Outcome, Is.EqualTo(Outcome.Broken), "20 in 10 h, evenly");
        var pooled = Judge(heaped);
        Assert.That(pooled.Judged.Outcome, Is.EqualTo(Outcome.Open), "20 in 10 h, all of one person");
        Assert.That(pooled.Heard!.Dispersion, Is.EqualTo(20).Within(1e-9), "X² = 18²/2 + 9·2 = 180 over 9");
        Assert.That(pooled.Judged.Why, Does.Contain("of which 20 count as one, since few of 10 sources have most of them"));
    }

    [Test]
    public void SourcesAreToldApartByTheirNames_AndStretchesWhereThereIsNone()
    {
        var pooled = Judge([Heard("a", 0, 10, 0, source: "Person 1"), Heard("b", 0, 10, 0, source: "person 1 "),
            Heard("c", 0, 10, 0), Heard("c", 20, 30, 0)]);
        Assert.That((pooled.Units, pooled.Sources, pooled.Heard!.OnceNs), Is.EqualTo((3, 1, 40_000_000_000)));
    }

    [Test]
    public void WhatIsNotKnownIsOpen()
    {
        Assert.That(Judge([]).Judged.Why, Is.EqualTo("nothing was played"));
        Assert.That(Judge([Heard("a", 0, Hour, 0) with { Alarms = null }]).Judged.Why,
            Does.StartWith("a run's score does not say when"));
        Assert.That(PooledJudge.Judge(s_limit with { Class = "carried" }, [], [Heard("a", 0, 9 * Hour, 0)]).Single().Judged,
            Has.Property("Outcome").EqualTo(Outcome.Open).And.Property("Why").EqualTo("carried is no event of what was played"));
    }

    [Test]
    public void AtLeastSoManyIsNoClaim() => Assert.That(
        () => PooledJudge.Judge(s_limit with { AtMost = null, AtLeast = 1 }, [], [Heard("a", 0, Hour, 0)]),
            Throws.ArgumentException);

    /// <summary>All of the stimulus is covered once, and each alarm falls into the part in which it came.</summary>
    [Test]
    public void EveryMomentOfTheStimulusIsHeardOnce_LabelledOrNot()
    {
        ReferenceInterval[] reference =
        [
            Labelled(10, 20, "carried", 1, 100, 110), Labelled(15, 15.5, "dropped", 1, 105, 105.5),
                Labelled(30, 40, "resting", 2, 5, 15),
        ];
        StimulusSource[] sources = [new("a.csv", "A", new() { Source = "Person 1" }), new("b.csv", "B", new())];
        var played = PlayedMotion.Of(reference, sources, "made", Ns(60));
        Assert.That(played, Is.EqualTo(new PlayedMotion[]
        {
            new(0, Ns(10), new("A", Ns(90), Ns(100), "Person 1")),
            new(Ns(10), Ns(20), new("A", Ns(100), Ns(110), "Person 1")),
            new(Ns(20), Ns(30), new("A", Ns(110), Ns(120), "Person 1")),
            new(Ns(30), Ns(40), new("B", Ns(5), Ns(15), null)),
            new(Ns(40), Ns(60), new("B", Ns(15), Ns(35), null)),
        }));
        var heard = HeardStretch.Of("", played, new Dictionary<string,
            EventScore> { ["dropped"] = new(0, 0, 3, 180) { AlarmsAtNs = [0, Ns(20), Ns(59)] } });
        Assert.That(heard.Select(h => h.Alarms!["dropped"]), Is.EqualTo(new[] { 1, 0, 1, 0, 1 }));
        Assert.That(PlayedMotion.Of([], sources[..1], "made", Ns(60)),
            Is.EqualTo(new[] { new PlayedMotion(0, Ns(60), new("A", 0, Ns(60), "Person 1")) }));
        Assert.That(PlayedMotion.Of([], [], "made", Ns(60)),
            Is.EqualTo(new[] { new PlayedMotion(0, Ns(60), new("made", 0, Ns(60), null)) }));
    }

    /// <summary>
    /// Devices of known rate, alarms that come singly: the share of wrong words is at most what the confidence leaves. With
    /// sources that differ (exponentially distributed rates) the count alone would be wrong in a quarter of the cases.
    /// </summary>
    [TestCase(1.0, false, 0.10)]
    [TestCase(3.0, false, 0.10)]
    [TestCase(1.0, true, 0.15)]
    [TestCase(3.0, true, 0.15)]
    public void HeldOrBrokenIsWrongAsRarelyAsTheConfidenceSays(double perHour, bool differ, double most)
    {
        const int cases = 1500;
        var random = new Random(20261130);
        int held = 0, broken = 0;
        for (int i = 0; i < cases; i++)
        {
            HeardStretch[] heard = [.. Enumerable.Range(0, 20).Select(n =>
            {
                double rate = differ ? Exponential.Sample(random, 1 / perHour) : perHour;
                return Heard($"r{n}", 0, Hour, Poisson.Sample(random, rate), source: $"person {n}");
            })];
            // A limit just below the truth must not be called held, one just above it not broken.
            if (Judge(heard, s_limit with { AtMost = perHour * (1 - 1e-9) }).Judged.Outcome == Outcome.Held) { held++; }
            if (Judge(heard, s_limit with { AtMost = perHour * (1 + 1e-9) }).Judged.Outcome == Outcome.Broken) { broken++; }
        }
        TestContext.Out.WriteLine($"held {(double)held / cases:0.000}, broken {(double)broken / cases:0.000}");
        // Three standard errors of a share of 1500.
        double slack = 3 * Math.Sqrt(most * (1 - most) / cases);
        Assert.That((double)held / cases, Is.LessThan(most + slack));
        Assert.That((double)broken / cases, Is.LessThan(most + slack));
    }

    private static PooledOutcome Judge(IReadOnlyList<HeardStretch> heard, Limit? limit = null) =>
        PooledJudge.Judge(limit ?? s_limit, [], heard).Single();

    private static HeardStretch Heard(string recording, double fromS, double toS, int alarms, string? source = null) =>
        new("", new(recording, Ns(fromS), Ns(toS), source), Ns(toS - fromS), new Dictionary<string,
            int> { ["dropped"] = alarms });

    private static ReferenceInterval Labelled(double start, double end, string name, int recording, double from, double to) =>
        new(new(Ns(start)), new(Ns(end)), name) { Segment = new(recording, new(Ns(from)), new(Ns(to))) };

    private static long Ns(double seconds) => (long)Math.Round(seconds * 1e9);
}
