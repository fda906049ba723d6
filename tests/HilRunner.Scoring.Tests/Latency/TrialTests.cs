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
