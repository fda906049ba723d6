using HilRunner.Core.Scenarios;
using static HilRunner.Scoring.Tests.Inputs;

namespace HilRunner.Scoring.Tests.Timelines;

/// <summary>What counts as observed, at the edges of the definition.</summary>
[TestFixture]
internal sealed class ObservedTests
{
    private static IEnumerable<(string, double)> Row(ScoreInput input) =>
        One(input).Strict.ConfusionNs["a"].Select(c => (c.Key, c.Value / 1e9));

    [Test]
    public void OfSeveralDecisionsAtOneTimeTheLastWins() =>
        Assert.That(Row(Input(10, [Ref(0, 10, "a")], [Says(2, "b"), Says(5, "a"), Says(2, "c"), Says(5, "d")])),
            Is.EqualTo(new[] { ("(none)", 2.0), ("c", 3), ("d", 5) }));

    [Test]
    public void TheLastDecisionBeforeZeroHoldsAtZero() =>
        Assert.That(Row(Input(10, [Ref(0, 10, "a")], [Says(-3, "b"), Says(-1, "a")])), Is.EqualTo(new[] { ("a", 10.0) }));

    [Test]
    public void DecisionsAtOrAfterTheEndAreOutside()
    {
        var input = Input(10, [Ref(0, 30, "a")], [Says(0, "a"), Says(10, "b"), Says(12, "c")]);
        Assert.That(Row(input), Is.EqualTo(new[] { ("a", 10.0) }));
        Assert.That(One(input).Trials.Single().EndNs, Is.EqualTo(Ns(10)), "the interval is cut at the end");
    }

    [Test]
    public void AnOldMessageGoesStale()
    {
        var rules = new ScoringRules { StaleAfterNs = Ns(3) };
        var input = Input(20, [Ref(0, 20, "a")], [Says(-1, "a"), Says(4, "a"), Says(7, "a"), Says(9.5, "b"), Says(12, "a")], rules);
        // a until 2, none until 4, a until 9.5 (7 is just in time), b until 12, a until 15, none.
        Assert.That(Row(input), Is.EqualTo(new[] { ("(none)", 7.0), ("a", 10.5), ("b", 2.5) }));
        Assert.That(One(input).Changes.Observed, Is.EqualTo(5), "at 2, 4, 9.5, 12 and 15");
    }

    [Test]
    public void AnEventNeitherChangesNorKeepsTheState()
    {
        var rules = new ScoringRules { Events = ["dropped"], WithinNs = Ns(1), StaleAfterNs = Ns(3) };
        // The event is a message: not stale at 5, but at 7.
        Assert.That(Row(Input(10, [Ref(0, 10, "a")], [Says(2, "a"), Says(4, "dropped")], rules)),
            Is.EqualTo(new[] { ("(none)", 5.0), ("a", 5) }));
    }

    [Test]
    public void OutputsAreScoredApart()
    {
        var input = Input(10, [Ref(0, 10, "a")], [Says(0, "a", "one"), Says(5, "b", "two"), Says(5, "b", "one")]) with { Outputs = ["two", "one"] };
        var score = Scorer.Score(input);
        Assert.That(score.Outputs.Select(o => (o.Output, o.Strict.Accuracy)), Is.EqualTo(new[] { ("two", (double?)0), ("one", 0.5) }));
        Assert.That(() => Scorer.Score(input with { Outputs = ["one"] }), Throws.ArgumentException.With.Message.Contains("\"two\""));
    }
}
