using CsCheck;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;
using HilRunner.Scoring.Latency;
using static HilRunner.Scoring.Tests.Inputs;

namespace HilRunner.Scoring.Tests.Latency;

[TestFixture]
internal sealed class TrialTests
{
    [Test]
    public void AlreadyThereAndMissedAndTooShort()
    {
        var rules = new ScoringRules { WithinNs = Ns(4) };
        var score = One(Input(60,
            [Ref(0, 10, "resting"), Ref(10, 20, "carried"), Ref(20, 23, "conveyed"), Ref(23, 33, "conveyed", 2), Ref(33, 60, "resting")],
            [Says(0, "resting"), Says(15, "carried"), Says(23, "conveyed"), Says(26, "resting")], rules));
        Assert.That(
            score.Trials.Select(t => (t.Already, t.Missed, t.Recognised, t.Counted, t.ReactionNs / 1e9, t.SettlingNs / 1e9)),
            Is.EqualTo(new (bool, bool, bool, bool, double?, double?)[]
            {
                (true, false, true, true, 0, 0),
                (false, false, false, true, 5, 5),
                (false, true, false, false, null, null),
                (true, false, true, true, 0, null),
                (true, false, true, true, 0, 0),
            }));
        Assert.That(score.Trials[3].Dropouts, Is.EqualTo(1));
        Assert.That(score.Reaction["resting"], Is.EqualTo(new LatencySummary(0, 0, 2, null, null, null, null, null, null)));
        Assert.That(score.Reaction["conveyed"], Is.EqualTo(new LatencySummary(0, 0, 1, null, null, null, null, null, null)));
    }

    /// <summary>
    /// Sixty trials of 3 s, to be recognised within 4 s, by a device that is right half of the time. Counted by outcome it came
    /// to
    /// 30 of 30; by length none of them counts, and that is said before anything is played.
    /// </summary>
    [Test]
    public void WhetherATrialCountsDoesNotDependOnItsOutcome()
    {
        var reference = Enumerable.Range(0, 60).Select(i => Ref(3 * i, 3 * i + 3, i % 2 == 0 ? "resting" : "carried")).ToList();
        var rules = new ScoringRules { WithinNs = Ns(4), Limits = [new(Measure.Recognised) { AtLeast = 0.5 }] };
        var score = Scorer.Score(Input(180, reference, [Says(0, "carried")], rules));
        Assert.That(score.Outputs[0].Trials.Count(t => t.Recognised), Is.EqualTo(30));
        Assert.That(score.Outputs[0].Trials.Select(t => t.Counted), Is.All.False);
        Assert.That((score.Verdict, score.Limits[0].Why), Is.EqualTo((Verdict.Inconc, "no trial is counted")));
        string[] notes =
        [
            "30 of 30 trials of carried cannot count, as they are shorter than within (4 s); all count with within: 3 s",
            "30 of 30 trials of resting cannot count, as they are shorter than within (4 s); all count with within: 3 s",
        ];
        Assert.That(score.Notes, Is.EqualTo(notes));
        Assert.That(TrialCounts.Of(reference, rules, S(180)).SelectMany(c => c.Notes), Is.EqualTo(notes),
            "known before anything is played");
        var enough = rules with { WithinNs = Ns(3) };
        Assert.That(Scorer.Score(Input(180, reference, [Says(0, "carried")], enough)).Limits[0].Why, Is.EqualTo("30 of 60"));
    }

    /// <summary>Of any reference: with the largest within that is told every trial counts, and with a nanosecond more one does
    /// not.</summary>
    [Test]
    public void TheLargestWithinIsTheLargest() => RandomInput.Any.Sample(input =>
    {
        var free = input.Rules with { Events = [], WithinNs = null };
        foreach (var c in TrialCounts.Of(input.Reference, free, input.End))
        {
            int Short(long within) =>
                TrialCounts.Of(input.Reference, free with { WithinNs = within }, input.End).Single(o => o.Class == c.Class).Short;
            if (c.MostWithinNs is { } most)
            {
                Assert.That(Short(most), Is.Zero);
                Assert.That(Short(most + 1), Is.Positive);
            }
            else { Assert.That(Short(1), Is.Positive); }
        }
        var counted = One(input).Trials.GroupBy(t => t.Class)
            .ToDictionary(g => g.Key, g => (g.Count(), g.Count(t => !t.Counted)));
        Assert.That(TrialCounts.Of(input.Reference, input.Rules, input.End).ToDictionary(c => c.Class, c => (c.Trials, c.Short)),
            Is.EqualTo(counted));
    }, iter: 2_000);

    [Test]
    public void AFlickerRecognisesNothingAndIsSeenAllTheSame()
    {
        var reference = new[] { Ref(0, 10, "resting"), Ref(10, 20, "carried"), Ref(20, 30, "resting") };
        Core.Runs.Decision[] said =
        [
            Says(0, "resting"), Says(11, "carried"), Says(11.4, "resting"), Says(13, "carried"), Says(20, "conveyed"),
                Says(29.5, "resting"),
        ];
        var instant = One(Input(30, reference, said));
        var held = One(Input(30, reference, said, new() { HoldNs = Ns(0.5) }));
        Assert.That(instant.Trials.Select(t => t.ReactionNs / 1e9), Is.EqualTo(new double?[] { 0, 1, 9.5 }));
        Assert.That(held.Trials.Select(t => t.ReactionNs / 1e9), Is.EqualTo(new double?[] { 0, 3, 9.5 }),
            "0.5 s up to the end is enough");
        Assert.That(One(Input(30, reference, said, new() { HoldNs = Ns(0.51) })).Trials[2].Missed,
            "its end is not the class's own");
        Assert.That(held.Trials.Select(t => (t.Dropouts, t.Chatter)),
            Is.EqualTo(instant.Trials.Select(t => (t.Dropouts, t.Chatter))));
        Assert.That(held.Trials[1].Dropouts, Is.EqualTo(1));
        Assert.That(One(Input(30, reference, said, new() { HoldNs = Ns(10.5) }))
            .Trials.Select(t => (t.Already, t.Missed, t.Counted)),
            Is.All.EqualTo((false, true, false)), "nothing holds for longer than its interval");
    }

    /// <summary>0.5 s that may be 0.48 s: whether it was held is open, and so is the limit.</summary>
    [Test]
    public void AHoldInsideTheUncertaintyOfItsDecisionsIsOpen()
    {
        var rules = new ScoringRules { HoldNs = Ns(0.5), WithinNs = Ns(4), Limits =
            [new(Measure.Recognised) { Class = "carried", AtLeast = 1 }] };
        Verdict Of(double until, double uncertainty, out TrialScore trial)
        {
            var score = Scorer.Score(Input(20, [Ref(0, 10, "resting"), Ref(10, 20, "carried")],
                [Says(0, "resting"), Says(11, "carried") with { UncertaintyNs = Ns(uncertainty) },
                    Says(until, "resting") with { UncertaintyNs = Ns(uncertainty) }],
                rules));
            trial = score.Outputs[0].Trials[1];
            return score.Verdict;
        }
        Assert.That(Of(11.5, 0, out _), Is.EqualTo(Verdict.Pass));
        Assert.That(Of(11.6, 0.04, out _), Is.EqualTo(Verdict.Pass));
        Assert.That(Of(11.5, 0.01, out var open), Is.EqualTo(Verdict.Inconc));
        Assert.That((open.HoldOpen, open.Recognised, open.UncertaintyNs), Is.EqualTo((true, true, Ns(10))));
        Assert.That(Of(11.49, 0.01, out _), Is.EqualTo(Verdict.Inconc), "missed as it stands, and may have been held");
        Assert.That(Of(11.4, 0.04, out _), Is.EqualTo(Verdict.Fail));
        var stored = ScoreJson.Read(new MemoryStream(System.Text.Encoding.UTF8.GetBytes(
            ScoreJson.ToText(Scorer.Score(Input(20, [Ref(10, 20, "carried")],
            [Says(11, "carried") with { UncertaintyNs = Ns(0.01) }, Says(11.5, "resting") with { UncertaintyNs = Ns(0.01) }],
                rules))))));
        Assert.That(stored.Outputs[0].Trials.Single().HoldOpen);
    }

    [Test]
    public void MissedTrialsAreInfiniteInTheStatistics()
    {
        var score = One(Input(40, [Ref(0, 10, "a"), Ref(10, 20, "b"), Ref(20, 30, "a"), Ref(30, 40, "b")],
            [Says(1, "a"), Says(12, "b"), Says(35, "a"), Says(37, "b")]));
        Assert.That(score.Trials[2].Missed);
        double never = double.PositiveInfinity;
        Assert.That(score.Reaction["a"], Is.EqualTo(new LatencySummary(2, 1, 0, never, never, never, never, never, never)));
        Assert.That(score.Reaction["b"], Is.EqualTo(new LatencySummary(1, 0, 1, 2, 2, 2, 2, 2, 2)));
    }

    [Test]
    public void AbuttingIntervalsOfOneClassAreTrialsOfTheirOwnOnlyAcrossSteps()
    {
        var score = One(Input(40, [Ref(0, 10, "a", 1), Ref(10, 20, "a", 1), Ref(20, 30, "a", 2), Ref(30, 40, "a")], [Says(5, "a")]));
        Assert.That(score.Trials.Select(t => (t.StartNs / 1e9, t.EndNs / 1e9)), Is.EqualTo(new[] { (0.0, 20.0), (20, 30), (30, 40) }));
        Assert.That(score.Segments["a"].Reference.Correct, Is.EqualTo(1), "one interval for everything else");
        Assert.That(score.Changes.Reference, Is.Zero);
    }

    [Test]
    public void ReportLatencyRunsFromTheOnsetsSampleToTheFirstByte()
    {
        // 50 Hz, every sample sent 1 ms late, the link and the device 30 ms slow. Onset at 10.01 s: the next sample is 501.
        var playout = Enumerable.Range(-10, 1010).Select(n => new PlayoutRow(n, n * 20_000_000L, n * 20_000_000L + 1_000_000)).ToList();
        var decision = Says(12, "carried") with { ArrivalNs = Ns(12.031), UncertaintyNs = Ns(0.005) };
        var input = Input(20, [Ref(0, 10.01, "resting"), Ref(10.01, 20, "carried")], [Says(-1, "resting") with { ArrivalNs = Ns(-0.9) }, decision])
            with { Playout = playout, Rate = new SampleRate(50_000) };
        var score = One(input);
        Assert.That(score.Trials[0].ReportLatencyNs, Is.Null, "already resting: no message reported the onset");
        Assert.That(score.Trials[1].ReportLatencyNs, Is.EqualTo(Ns(12.031) - Ns(501 * 0.02 + 0.001)));
        Assert.That(score.Trials[1].UncertaintyNs, Is.EqualTo(Ns(0.005)));
        Assert.That(score.Report["carried"].P50, Is.EqualTo(2.01));

        Assert.That(One(input with { Rate = null }).Trials[1].ReportLatencyNs, Is.Null);
        Assert.That(One(input with { Playout = playout[..500] }).Trials[1].ReportLatencyNs, Is.Null, "sample 501 was never played");
    }

    [TestCase(3_000L)]
    [TestCase(7_000L)]
    [TestCase(50_000L)]
    [TestCase(800_000L)]
    [TestCase(31_250L)]
    public void TheOnsetOfASampleIsThatSample(long milliHertz)
    {
        var rate = new SampleRate(milliHertz);
        for (long n = 0; n < 2_000; n++)
        {
            long at = rate.TimeOf(n).Ns;
            Assert.That(ReportClock.OnsetSample(at, rate), Is.EqualTo(n));
            Assert.That(ReportClock.OnsetSample(at + 1, rate), Is.EqualTo(n + 1));
        }
    }
}
