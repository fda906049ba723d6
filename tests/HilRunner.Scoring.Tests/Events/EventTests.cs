using CsCheck;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Events;
using HilRunner.Scoring.Timelines;
using static HilRunner.Scoring.Tests.Inputs;

namespace HilRunner.Scoring.Tests.Events;

[TestFixture]
internal sealed class EventTests
{
    private static readonly ScoringRules Rules = new() { Events = ["dropped"], WithinNs = Ns(2) };

    [Test]
    public void HitsMissesAndFalseAlarms()
    {
        var score = One(Input(60,
            [Ref(0, 10, "carried"), Ref(10, 10.5, "dropped"), Ref(20, 20.5, "dropped"), Ref(30, 30.5, "dropped"), Ref(59, 59.5, "dropped")],
            [Says(-1, "dropped"), Says(9, "dropped"), Says(10, "dropped"), Says(11, "dropped"), Says(22, "dropped"), Says(31.999, "dropped"),
                Says(60, "dropped")], Rules));
        Assert.That(score.Events["dropped"], Is.EqualTo(new EventScore(2, 2, 3, 180) { AlarmsAtNs = [Ns(9), Ns(11), Ns(22)] }));
        var trials = score.Trials.Where(t => t.IsEvent).ToList();
        Assert.That(trials.Select(t => (t.Missed, t.Counted, t.ReactionNs / 1e9)), Is.EqualTo(new (bool, bool, double?)[]
        {
            (false, true, 0), (true, true, null), (false, true, 1.999), (true, false, null),
        }), "the last window reaches over the end: the device had no fair chance");
        Assert.That(trials.Select(t => (t.Already, t.SettlingNs, t.Dropouts, t.Chatter)),
            Is.All.EqualTo((false, (long?)null, (int?)null, (int?)null)));
        Assert.That(score.Reaction["dropped"].N, Is.EqualTo(3));
        Assert.That(score.Settling.Keys, Is.EqualTo(new[] { "carried" }));
    }

    [TestCase(0, 0, 1)]
    [TestCase(0.2, 1, 0)]
    [TestCase(0.1, 0, 1)]
    public void AReportAMomentEarlyIsAHitWithinTheTolerance(double early, int hits, int alarms)
    {
        var score = One(Input(60, [Ref(0, 10, "carried"), Ref(10, 10.5, "dropped")], [Says(9.85, "dropped")],
            Rules with { EarlyNs = Ns(early) }));
        Assert.That(score.Events["dropped"], Is.EqualTo(new EventScore(hits, 1 - hits, alarms, 60.0 * alarms)
        {
            AlarmsAtNs = alarms == 0 ? [] : [Ns(9.85)],
        }));
        var trial = score.Trials.Single(t => t.IsEvent);
        Assert.That((trial.Recognised, trial.ReactionNs), Is.EqualTo((hits == 1, hits == 1 ? (long?)0 : null)));
    }

    [TestCase(12, true)]
    [TestCase(11.999, false)]
    public void AMissedEventCountsWhereItsWholeWindowWasPlayed(double end, bool counted) =>
        Assert.That(One(Input(end, [Ref(10, 10.5, "dropped")], [], Rules)).Trials.Single().Counted, Is.EqualTo(counted));

    /// <summary>The rule word by word: decisions in time order, each to the earliest unmatched interval that admits it.</summary>
    [Test]
    public void MatchingAgreesWithTheRuleDoneSlowly() =>
        Gen.Select(Gen.Int[0, 12].Array[0, 8], Gen.Int[0, 60].Array[0, 14], Gen.Int[1, 15], Gen.Int[0, 5]).Sample((gaps, times,
            within, early) =>
        {
            long at = 0;
            var trials = gaps.Select(g => { at += g + 1; return new Interval(at - 1, at, "dropped"); }).ToList();
            var decisions = times.Order().Select(t => new Decision(new(t), "dropped")).ToList();

            var slow = new Decision?[trials.Count];
            foreach (var decision in decisions)
            {
                for (int i = 0; i < trials.Count; i++)
                {
                    if (slow[i] is null && trials[i].Start - early <= decision.Time.Ns
                        && decision.Time.Ns < trials[i].Start + within)
                    {
                        slow[i] = decision;
                        break;
                    }
                }
            }
            var fast = EventMatcher.Match(trials, decisions, within, early);
            return fast.Zip(slow).All(p => ReferenceEquals(p.First, p.Second));
        }, iter: 5_000);
}
