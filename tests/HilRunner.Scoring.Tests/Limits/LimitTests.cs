using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;
using static HilRunner.Scoring.Tests.Inputs;

namespace HilRunner.Scoring.Tests.Limits;

/// <summary>Each measure's figure on the worked example, and how limits end.</summary>
[TestFixture]
internal sealed class LimitTests
{
    private static readonly object[] Figures =
    [
        new object?[] { Measure.Accuracy, null, null, 43.0 / 60 },
        new object?[] { Measure.BalancedAccuracy, null, null, (15.0 / 20 + 16.0 / 20 + 12.0 / 20) / 3 },
        new object?[] { Measure.Recall, "conveyed", null, 0.6 },
        new object?[] { Measure.Recall, null, null, 43.0 / 60 },
        new object?[] { Measure.Precision, "carried", null, 16.0 / 22 },
        new object?[] { Measure.Precision, null, null, 43.0 / 58 },
        new object?[] { Measure.F1, "carried", null, 32.0 / 42 },
        new object?[] { Measure.F1, null, null, 86.0 / 118 },
        new object?[] { Measure.Recognised, null, null, 0.75 },
        new object?[] { Measure.Recognised, "conveyed", null, 0.0 },
        new object?[] { Measure.Missed, null, null, 0.0 },
        new object?[] { Measure.Reaction, null, Statistic.P50, 3.0 },
        new object?[] { Measure.Reaction, "conveyed", Statistic.Max, 8.0 },
        new object?[] { Measure.Reaction, "resting", Statistic.P95, 2.95 },
        new object?[] { Measure.Settling, "carried", Statistic.Mean, 11.0 },
        new object?[] { Measure.Dropouts, null, null, 1.0 },
        new object?[] { Measure.ChatterPerMinute, null, null, 2.0 },
        new object?[] { Measure.ChatterPerMinute, "carried", null, 6.0 },
        new object?[] { Measure.SurplusPerMinute, null, null, 3.0 },
        new object?[] { Measure.ShortestDwell, null, null, 1.0 },
        new object?[] { Measure.ShortestDwell, "carried", null, 3.0 },
        new object?[] { Measure.ShortestDwell, "conveyed", null, 1.0 },
        new object?[] { Measure.Insertions, null, null, 2.0 },
        new object?[] { Measure.Insertions, "resting", null, 0.0 },
        new object?[] { Measure.Deletions, null, null, 0.0 },
        new object?[] { Measure.Fragmented, "carried", null, 1.0 },
        new object?[] { Measure.Merged, null, null, 0.0 },
        new object?[] { Measure.DeviceResets, null, null, 0.0 },
        new object?[] { Measure.DeviceSilences, null, null, 0.0 },
    ];

    [TestCaseSource(nameof(Figures))]
    public void FiguresOfTheWorkedExample(Measure measure, string? c, Statistic? statistic, double expected)
    {
        var limit = new Limit(measure) { Class = c, Statistic = statistic };
        var just = Judge(
            limit with { AtMost = expected }, limit with { AtLeast = expected },
            limit with { AtMost = expected - 1e-9 }, limit with { AtLeast = expected + 1e-9 });
        Assert.That(just.Take(4).Select(l => l.Figure), Is.All.EqualTo(expected).Within(1e-15));
        if (measure != Measure.BalancedAccuracy)
        {
            Assert.That(just.Take(2).Select(l => l.Outcome), Is.All.EqualTo(Outcome.Held), "on the bound is inside");
        }
        Assert.That(just.Skip(2).Take(2).Select(l => l.Outcome), Is.All.EqualTo(Outcome.Broken));
    }

    private static readonly object[] Undefined =
    [
        new object?[] { Measure.Recall, "dropped", null, "no time of dropped is scored" },
        new object?[] { Measure.Recognised, "dropped", null, "no trial of dropped is counted" },
        new object?[] { Measure.Reaction, "dropped", Statistic.P95, "no trial of dropped is counted" },
        new object?[] { Measure.ReportLatency, null, Statistic.P95, "the report latency of 4 trials is not known" },
        new object?[] { Measure.Deletions, "dropped", null, "the reference holds no dropped" },
        new object?[] { Measure.FalseAlarmsPerHour, null, null, "the scenario has no events" },
        new object?[] { Measure.FalseAlarmsPerHour, "carried", null, "carried is no event" },
        new object?[] { Measure.SurplusPerMinute, "carried", null, "surplus changes belong to no class" },
        new object?[] { Measure.ShortestDwell, "dropped", null, "no two changes were seen in one stretch of scored time" },
    ];

    [TestCaseSource(nameof(Undefined))]
    public void AnUndefinedFigureLeavesItsLimitOpen(Measure measure, string? c, Statistic? statistic, string why)
    {
        var outcome = Judge(new Limit(measure) { Class = c, Statistic = statistic, AtMost = 1 })[0];
        Assert.That((outcome.Figure, outcome.Outcome, outcome.Why), Is.EqualTo(((double?)null, Outcome.Open, why)));
    }

    [Test]
    public void AnUncertaintyThatStraddlesTheBoundLeavesItOpen()
    {
        Outcome Of(double bound, double uncertainty, Statistic statistic = Statistic.Max) => Scorer.Score(Input(
            40, [Ref(0, 20, "a"), Ref(20, 40, "b")],
            [Says(2, "a") with { UncertaintyNs = Ns(uncertainty) }, Says(23, "b") with { UncertaintyNs = Ns(0.1) }],
            new() { Limits = [new(Measure.Reaction) { Statistic = statistic, AtMost = bound }] })).Limits[0].Outcome;

        Assert.That(Of(3.1, 0), Is.EqualTo(Outcome.Held), "3 s, and 3.1 s at worst");
        Assert.That(Of(3.05, 0), Is.EqualTo(Outcome.Open));
        Assert.That(Of(2.95, 0), Is.EqualTo(Outcome.Open));
        Assert.That(Of(2.89, 0), Is.EqualTo(Outcome.Broken));
        Assert.That(Of(2.5, 0.2, Statistic.P50), Is.EqualTo(Outcome.Open), "the median of 2 and 3 s, each uncertain");
        Assert.That(Of(3.1, 2), Is.EqualTo(Outcome.Open), "2 s may be 4 s");
    }

    [Test]
    public void RecognitionIsOpenWhereItHangsOnTheUncertainty()
    {
        LimitOutcome Of(double uncertainty) => Scorer.Score(Input(
            10, [Ref(0, 10, "a")], [Says(3.9, "a") with { UncertaintyNs = Ns(uncertainty) }],
            new() { WithinNs = Ns(4), Limits = [new(Measure.Recognised) { AtLeast = 1 }] })).Limits[0];

        Assert.That(Of(0.1).Outcome, Is.EqualTo(Outcome.Held));
        Assert.That(Of(0.2).Outcome, Is.EqualTo(Outcome.Open));
        Assert.That(Of(0.2).Why, Is.EqualTo("its uncertainty leaves 0 to 1 open"));
    }

    [TestCase(0.099, Outcome.Held)]
    [TestCase(0.1, Outcome.Open)]
    public void AnEventsWindowEndsBeforeWithin(double uncertainty, Outcome outcome)
    {
        var rules = new ScoringRules { Events = ["dropped"], WithinNs = Ns(4), Limits = [new(Measure.Recognised) { AtLeast = 1 }] };
        var score = Scorer.Score(Input(10, [Ref(0, 1, "dropped")], [Says(3.9, "dropped") with { UncertaintyNs = Ns(uncertainty) }], rules));
        Assert.That(score.Limits[0].Outcome, Is.EqualTo(outcome));
    }

    [Test]
    public void AMissedTrialBreaksALimitOnReactions()
    {
        var score = Scorer.Score(Input(20, [Ref(0, 10, "a"), Ref(10, 20, "b")], [Says(1, "a")],
            new() { Limits = [new(Measure.Reaction) { Statistic = Statistic.Max, AtMost = 5 }] }));
        Assert.That((score.Limits[0].Figure, score.Limits[0].Outcome), Is.EqualTo(((double?)double.PositiveInfinity, Outcome.Broken)));
        Assert.That(score.Reasons[0], Is.EqualTo("reaction max without end (never in 1 of 2; the timing of 1 trial is not proven), at most 5 s"));
    }

    [Test]
    public void AgreementIsJudgedGraced()
    {
        var score = Scorer.Score(WorkedExample with { Rules = new() { GraceNs = Ns(8), Limits = [new(Measure.Recall) { Class = "conveyed", AtLeast = 1 }] } });
        Assert.That(score.Limits[0].Outcome, Is.EqualTo(Outcome.Held));
    }

    [Test]
    public void LimitsApplyToTheOutputTheyName()
    {
        var input = Input(10, [Ref(0, 10, "a")], [Says(0, "a", "one"), Says(5, "b", "two")]) with { Outputs = ["one", "two"] };
        var score = Scorer.Score(input with
        {
            Rules = new()
            {
                Limits =
                [
                    new(Measure.Accuracy) { AtLeast = 0.5 }, new(Measure.Accuracy) { AtLeast = 0.5, Output = "one" },
                    new(Measure.Accuracy) { AtLeast = 0.5, Output = "three" },
                ],
            },
        });
        Assert.That(score.Limits.Select(l => (l.Text, l.Output, l.Outcome)), Is.EqualTo(new[]
        {
            ("accuracy ≥ 0.5", "one", Outcome.Held), ("accuracy ≥ 0.5", "two", Outcome.Broken),
            ("accuracy ≥ 0.5 (output one)", "one", Outcome.Held), ("accuracy ≥ 0.5 (output three)", "three", Outcome.Open),
            ("device_resets ≤ 0", "", Outcome.Held), ("device_silences ≤ 0", "", Outcome.Held),
        }));
        Assert.That(score.Reasons[0], Is.EqualTo("two: accuracy 0, needs 0.5"));
    }

    [Test]
    public void LimitsInWords()
    {
        var judged = Judge(
            new Limit(Measure.Recognised) { Class = "carried", AtLeast = 0.95, Confidence = 0.9 },
            new Limit(Measure.Reaction) { Class = "dropped", Statistic = Statistic.P95, AtMost = 1.5 },
            new Limit(Measure.ChatterPerMinute) { AtMost = 2 });
        Assert.That(judged.Select(l => l.Text).Take(3), Is.EqualTo(new[]
        {
            "recognised carried ≥ 0.95 with confidence 0.9", "reaction p95 dropped ≤ 1.5 s", "chatter_per_minute ≤ 2",
        }));
    }

    [Test]
    public void MalformedLimitsAreRefused()
    {
        Assert.That(() => Judge(new Limit(Measure.Accuracy)), Throws.ArgumentException.With.Message.Contains("exactly one"));
        Assert.That(() => Judge(new Limit(Measure.Accuracy) { AtLeast = 0, AtMost = 1 }), Throws.ArgumentException);
        Assert.That(() => Judge(new Limit(Measure.Reaction) { AtMost = 1 }), Throws.ArgumentException.With.Message.Contains("needs a statistic"));
        Assert.That(() => Judge(new Limit(Measure.Accuracy) { AtMost = 1, Statistic = Statistic.P50 }), Throws.ArgumentException);
    }

    [Test]
    public void FalseAlarmsPerHour()
    {
        var rules = new ScoringRules
        {
            Events = ["dropped", "knocked"],
            WithinNs = Ns(1),
            Limits = [new(Measure.FalseAlarmsPerHour) { AtMost = 3 }, new(Measure.FalseAlarmsPerHour) { Class = "knocked", AtMost = 0 }],
        };
        var score = Scorer.Score(Input(3_600, [], [Says(1, "dropped"), Says(2, "knocked"), Says(3, "knocked")], rules));
        Assert.That(score.Limits.Take(2).Select(l => (l.Figure, l.Outcome)), Is.EqualTo(new[] { ((double?)3.0, Outcome.Held), (2.0, Outcome.Broken) }));
    }

    [Test]
    public void UnknownReportLatenciesAreNotMissedOnes()
    {
        var limit = new Limit(Measure.ReportLatency) { Statistic = Statistic.Max, AtMost = 5 };
        var input = Input(20, [Ref(0, 10, "a"), Ref(10, 20, "b")], [Says(1, "a") with { ArrivalNs = Ns(1.1) }], new() { Limits = [limit] });
        Assert.That(Scorer.Score(input).Limits[0].Outcome, Is.EqualTo(Outcome.Open), "nothing is known of when it was played");
        var played = input with { Rate = new SampleRate(1_000), Playout = [.. Enumerable.Range(0, 20).Select(n => new PlayoutRow(n, null, Ns(n)))] };
        Assert.That(Scorer.Score(played).Limits[0].Outcome, Is.EqualTo(Outcome.Broken), "b never came");
        Assert.That(Scorer.Score(played).Outputs[0].Report["a"].Max, Is.EqualTo(1.1));
    }

    [Test]
    public void AReportLatencyIsJudgedByTheUncertaintyOfItsArrival()
    {
        LimitOutcome Of(double bound, double? uncertainty) => Scorer.Score(Input(20, [Ref(0, 20, "a")],
            [Says(1, "a") with { ArrivalNs = Ns(1.1), ArrivalUncertaintyNs = uncertainty is { } u ? Ns(u) : null, UncertaintyNs = Ns(5) }],
            new() { Limits = [new(Measure.ReportLatency) { Statistic = Statistic.P95, AtMost = bound }] }) with
        {
            Rate = new SampleRate(1_000), Playout = [new PlayoutRow(0, 0, Ns(0.01))],
        }).Limits[0];

        Assert.That((Of(1.1, 0.01).Outcome, Of(1.1, 0.01).Figure), Is.EqualTo((Outcome.Held, (double?)1.09)), "1.1 s at worst, on the bound");
        Assert.That(Of(1.0999, 0.01).Why, Is.EqualTo("its uncertainty leaves 1.08 to 1.1 s open"));
        Assert.That(Of(1.085, 0.01).Outcome, Is.EqualTo(Outcome.Open));
        Assert.That(Of(1.0799, 0.01).Outcome, Is.EqualTo(Outcome.Broken));
        Assert.That((Of(1.1, null).Outcome, Of(1.1, null).Why), Is.EqualTo((Outcome.Held, "the timing of 1 trial is not proven")), "judged as it stands, and said");
    }

    [Test]
    public void AnEventsReportLatencyHasAnUncertaintyToo()
    {
        var score = One(Input(20, [Ref(5, 6, "dropped")], [Says(7, "dropped") with { ArrivalNs = Ns(7.2), ArrivalUncertaintyNs = Ns(0.003) }],
            new() { Events = ["dropped"], WithinNs = Ns(4) }) with
        {
            Rate = new SampleRate(1_000), Playout = [.. Enumerable.Range(0, 20).Select(n => new PlayoutRow(n, null, Ns(n)))],
        });
        Assert.That((score.Trials[0].ReportLatencyNs, score.Trials[0].ReportUncertaintyNs), Is.EqualTo(((long?)Ns(2.2), (long?)Ns(0.003))));
        Assert.That(score.Report["dropped"].UncertaintyNs, Is.EqualTo(Ns(0.003)));
        Assert.That(score.Reaction["dropped"].UncertaintyNs, Is.Null, "the decision's place in stimulus time is another matter");
    }

    [TestCase(20_000.0, 3.0, 500, Outcome.Broken, "fast")]
    [TestCase(-20_000.0, 3.0, 500, Outcome.Broken, "slow")]
    [TestCase(-12.0, 3.0, 500, Outcome.Held, "slow")]
    [TestCase(498.0, 3.0, 500, Outcome.Open, "its uncertainty leaves 495 to 501 ppm open")]
    [TestCase(1.0, 3.0, 0, Outcome.Open, "its uncertainty leaves 0 to 4 ppm open")]
    [TestCase(null, null, 500, Outcome.Open, "9 comparisons of the device's clock with the host's give no rate")]
    [TestCase(12.0, null, 500, Outcome.Open, "the uncertainty of the device's clock rate is not known")]
    public void TheClocksRateIsJudgedWithItsUncertainty(double? ppm, double? uncertainty, double most, Outcome outcome, string why)
    {
        var score = Scorer.Score(WorkedExample with
        {
            Rules = new() { Limits = [new(Measure.DeviceClockPpm) { AtMost = most }] },
            Device = new(0, 0, ppm) { ClockPpmUncertainty = uncertainty },
            Timing = new() { Exchanges = 9 },
        });
        Assert.That((score.Limits[0].Outcome, score.Limits[0].Why), Is.EqualTo((outcome, why)));
        Assert.That(score.Limits[0].Text, Is.EqualTo($"device_clock_ppm ≤ {most} ppm"));
        Assert.That(score.Limits, Has.Count.EqualTo(3), "no limit on the clock's rate but the given one");
        if (outcome == Outcome.Broken) { Assert.That(score.Reasons[0], Is.EqualTo($"device clock rate off by 20000 ppm ({why}), at most 500 ppm")); }
    }

    [TestCase(20_000.713150727825, 500, "20000")]
    [TestCase(20_000.713150727825, 20_000, "20001")]
    [TestCase(500.00012, 500, "500.0001")]
    [TestCase(0.00012345678, 0.0001, "0.0001235")]
    public void AFigureHasTheDigitsThatShowItsSideOfTheBound(double ppm, double most, string shown)
    {
        var score = Scorer.Score(WorkedExample with
        {
            Rules = new() { Limits = [new(Measure.DeviceClockPpm) { AtMost = most }] },
            Device = new(0, 0, ppm) { ClockPpmUncertainty = 0 },
            Timing = new() { Exchanges = 9 },
        });
        Assert.That(score.Reasons[0], Does.StartWith($"device clock rate off by {shown} ppm"));
    }

    [Test]
    public void AClockThatWasNeverComparedLeavesItsLimitOpen() => Assert.That(
        Judge(new Limit(Measure.DeviceClockPpm) { AtMost = 500 })[0].Why, Is.EqualTo("the device's clock was not compared with the host's"));

    private static IReadOnlyList<LimitOutcome> Judge(params Limit[] limits) =>
        Scorer.Score(WorkedExample with { Rules = new() { WithinNs = Ns(4), Limits = limits } }).Limits;
}
