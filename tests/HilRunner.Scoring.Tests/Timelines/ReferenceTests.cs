using HilRunner.Core.Scenarios;
using static HilRunner.Scoring.Tests.Inputs;

namespace HilRunner.Scoring.Tests.Timelines;

[TestFixture]
internal sealed class ReferenceTests
{
    [Test]
    public void UnscoredTimeIsNeverRightOrWrong()
    {
        var rules = new ScoringRules { Unscored = ["transition"] };
        var score = One(Input(50,
            [Ref(0, 10, "a"), Ref(10, 20, "transition"), Ref(20, 30, "a"), Ref(30, 35, "unscored"), Ref(40, 50, "b")],
            [Says(0, "a"), Says(12, "c"), Says(18, "a"), Says(31, "b")], rules));
        Assert.That(score.Strict.ScoredNs, Is.EqualTo(Ns(30)));
        Assert.That(score.Strict.Accuracy, Is.EqualTo(1));
        Assert.That(score.Changes, Is.EqualTo(new ChangeScore(0, 0, 0, null, null, 0, 0)));
        Assert.That(score.Segments.Keys, Is.EqualTo(new[] { "a", "b" }));
        Assert.That(score.Segments["a"].Observed.Correct, Is.EqualTo(2), "the cut parts the run that holds over it");
        Assert.That(score.Trials, Has.Count.EqualTo(3));
    }

    [Test]
    public void GraceLeavesOutTheStartOfEveryInterval()
    {
        var rules = new ScoringRules { GraceNs = Ns(3) };
        var score = One(Input(30, [Ref(0, 10, "a", 1), Ref(10, 20, "a", 2), Ref(20, 23, "b"), Ref(23, 30, "c")],
            [Says(2, "a"), Says(21, "b"), Says(25, "c")], rules));
        Assert.That(score.Strict.ScoredNs, Is.EqualTo(Ns(30)));
        Assert.That(score.Strict.Accuracy, Is.EqualTo(25.0 / 30));
        Assert.That(score.Graced.ScoredNs, Is.EqualTo(Ns(17 + 0 + 4)), "abutting intervals of one class are one; b is no longer than the grace");
        Assert.That(score.Graced.Accuracy, Is.EqualTo(1));
        Assert.That(score.Graced.PerClass["b"], Is.EqualTo(new ClassAgreement(null, null, null)));
        Assert.That(score.Graced.BalancedAccuracy, Is.EqualTo(1), "over the classes that have time left");
    }

    [Test]
    public void AnEventsWindowIsUnscoredForTheStates()
    {
        var rules = new ScoringRules { Events = ["dropped"], WithinNs = Ns(4) };
        var score = One(Input(40,
            [Ref(0, 10, "a"), Ref(10, 11, "dropped"), Ref(11, 13, "b"), Ref(13, 30, "a"), Ref(30, 40, "b")],
            [Says(0, "a"), Says(11, "c"), Says(13, "a"), Says(12, "dropped"), Says(30, "b")], rules));
        Assert.That(score.Strict.ScoredNs, Is.EqualTo(Ns(10 + 16 + 10)));
        Assert.That(score.Strict.Accuracy, Is.EqualTo(1));
        Assert.That(score.Trials.Select(t => (t.Class, t.StartNs / 1e9, t.EndNs / 1e9)),
            Is.EqualTo(new[] { ("a", 0.0, 10.0), ("dropped", 10, 11), ("a", 14, 30), ("b", 30, 40) }));
        Assert.That((score.Changes.Observed, score.Changes.Reference), Is.EqualTo((1, 1)), "only the change at 30 lies inside a stretch");
    }

    [TestCase(-1, 5, "starts below 0")]
    [TestCase(5, 5, "does not end after its start")]
    [TestCase(3, 8, "overlaps")]
    public void AnImpossibleReferenceIsRefused(double start, double end, string why) =>
        Assert.That(() => Scorer.Score(Input(10, [Ref(0, 4, "a"), Ref(start, end, "b")], [])), Throws.ArgumentException.With.Message.Contains(why));

    [Test]
    public void EventsNeedAWindow() => Assert.That(
        () => Scorer.Score(Input(10, [], [], new() { Events = ["dropped"] })), Throws.ArgumentException.With.Message.Contains("within"));

    [Test]
    public void NothingPlayedIsNothingScored()
    {
        var score = One(Input(0, [Ref(0, 4, "a")], [Says(0, "a")], new() { Events = ["dropped"], WithinNs = 1 }));
        Assert.That(score.Strict.ScoredNs, Is.Zero);
        Assert.That(score.Trials, Is.Empty);
        Assert.That(score.Events["dropped"], Is.EqualTo(new EventScore(0, 0, 0, null) { AlarmsAtNs = [] }));
    }
}
