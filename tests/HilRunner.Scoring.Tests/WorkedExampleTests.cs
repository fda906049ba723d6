using static HilRunner.Scoring.Tests.Inputs;

namespace HilRunner.Scoring.Tests;

/// <summary>Every figure of the worked example of the scoring definitions.</summary>
[TestFixture]
internal sealed class WorkedExampleTests
{
    private static readonly OutputScore Score = One(WorkedExample);

    [Test]
    public void Agreement()
    {
        var a = Score.Strict;
        (string, (string, double)[])[] expected =
        [
            ("carried", [("carried", 16), ("conveyed", 1), ("resting", 3)]),
            ("conveyed", [("carried", 3), ("conveyed", 12), ("resting", 5)]),
            ("resting", [("(none)", 2), ("carried", 3), ("resting", 15)]),
        ];
        Assert.That(
            a.ConfusionNs.Select(r => (r.Key, r.Value.Select(c => (c.Key, c.Value / 1e9)).ToArray())),
            Is.EqualTo(expected));
        Assert.That(a.ScoredNs, Is.EqualTo(Ns(60)));
        Assert.That(a.Accuracy, Is.EqualTo(43.0 / 60));
        Assert.That(a.BalancedAccuracy, Is.EqualTo((15.0 + 16 + 12) / 60).Within(1e-15));
        Assert.That(a.Kappa, Is.EqualTo(0.58197).Within(5e-6));
        Assert.That(a.Mcc, Is.EqualTo(0.58995).Within(5e-6));
        Assert.That(a.PerClass["resting"], Is.EqualTo(new ClassAgreement(15.0 / 20, 15.0 / 23, 30.0 / 43)));
        Assert.That(a.PerClass["carried"], Is.EqualTo(new ClassAgreement(16.0 / 20, 16.0 / 22, 32.0 / 42)));
        Assert.That(a.PerClass["conveyed"], Is.EqualTo(new ClassAgreement(12.0 / 20, 12.0 / 13, 24.0 / 33)));
        Assert.That(Score.Graced.ConfusionNs, Is.EqualTo(a.ConfusionNs), "no grace");
    }

    [Test]
    public void Trials()
    {
        Assert.That(Score.Trials.Select(t => t.Class), Is.EqualTo(new[] { "resting", "carried", "resting", "conveyed" }));
        Assert.That(Score.Trials.Select(t => t.ReactionNs / 1e9), Is.EqualTo(new double?[] { 2, 3, 3, 8 }));
        Assert.That(Score.Trials.Select(t => t.SettlingNs / 1e9), Is.EqualTo(new double?[] { 2, 11, 3, 8 }));
        Assert.That(Score.Trials.Select(t => t.Chatter), Is.EqualTo(new int?[] { 0, 2, 0, 0 }));
        Assert.That(Score.Trials.Select(t => t.Dropouts), Is.EqualTo(new int?[] { 0, 1, 0, 0 }));
        Assert.That(Score.Trials.Select(t => (t.Already, t.Missed, t.Recognised, t.Counted)), Is.All.EqualTo((false, false, true, true)));
        Assert.That(Score.Trials.Select(t => t.ReportLatencyNs), Is.All.Null, "nothing was played");
        Assert.That(Score.Reaction["resting"], Is.EqualTo(new LatencySummary(2, 0, 0, 2.5, 2.9, 2.95, 2.99, 3, 2.5)));
        Assert.That(Score.Report["resting"], Is.EqualTo(new LatencySummary(0, 0, 0, null, null, null, null, null, null)));
    }

    [Test]
    public void Changes() =>
        Assert.That(Score.Changes, Is.EqualTo(new ChangeScore(6, 3, 3, Ns(1), 7, 2, 3)));

    [Test]
    public void Segments()
    {
        Assert.That(Score.Segments.Keys, Is.EqualTo(new[] { "carried", "conveyed", "resting" }));
        Assert.That(Score.Segments["carried"], Is.EqualTo(new SegmentScore(
            new(0, 0, 1, 0, 0), new(0, 1, 2, 0, 0),
            new(Ns(16), Insertion: Ns(3), 0, 0, OverfillEnd: Ns(3), 0, Fragmentation: Ns(1), UnderfillStart: Ns(3), 0))));
        Assert.That(Score.Segments["conveyed"], Is.EqualTo(new SegmentScore(
            new(1, 0, 0, 0, 0), new(1, 1, 0, 0, 0), new(Ns(12), Insertion: Ns(1), 0, 0, 0, 0, 0, UnderfillStart: Ns(8), 0))));
        Assert.That(Score.Segments["resting"], Is.EqualTo(new SegmentScore(
            new(2, 0, 0, 0, 0), new(2, 0, 0, 0, 0), new(Ns(15), 0, 0, 0, OverfillEnd: Ns(8), 0, 0, UnderfillStart: Ns(5), 0))));
    }

    [Test]
    public void WithoutLimitsNothingIsJudged()
    {
        var score = Scorer.Score(WorkedExample);
        Assert.That(score.Verdict, Is.EqualTo(Verdict.None));
        Assert.That(score.Limits.Select(l => (l.Text, l.Outcome)), Is.EqualTo(new[]
        {
            ("device_resets ≤ 0", Outcome.Held), ("device_silences ≤ 0", Outcome.Held),
        }));
    }
}
