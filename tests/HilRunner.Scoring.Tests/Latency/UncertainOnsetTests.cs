using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Scoring.Tests.Latency;

/// <summary>An onset that is not exact widens every latency that counts from it, and nothing else.</summary>
public class UncertainOnsetTests
{
    [Test]
    public void ItAddsToBothLatencies()
    {
        var trial = Score(300, [new(S(12), "carried") { UncertaintyNs = 5, ArrivalNs = 12_500_000_000, ArrivalUncertaintyNs = 7 }]);
        Assert.Multiple(() =>
        {
            Assert.That((trial.ReactionNs, trial.UncertaintyNs), Is.EqualTo((2_000_000_000L, 305L)));
            Assert.That((trial.ReportLatencyNs, trial.ReportUncertaintyNs), Is.EqualTo((2_500_000_000L, 307L)), "by hand, stimulus time is host time");
        });
    }

    [Test]
    public void WhatIsNotKnownStaysNotKnown() => Assert.That(Score(300, [new(S(12), "carried")]).UncertaintyNs, Is.Null);

    [TestCase(9_800, true, 0)]
    [TestCase(9_600, false, null)]
    [TestCase(10_500, true, 500)]
    public void AnEventMayBeReportedAsMuchEarlier(int atMs, bool hit, int? reactionMs)
    {
        var trial = Scorer.Score(new()
        {
            Reference = [new(S(10), S(14), "dropped", 0) { UncertaintyNs = 300_000_000 }],
            Decisions = [new(new(atMs * 1_000_000L), "dropped") { UncertaintyNs = 0 }],
            End = S(20),
            Rules = new() { Events = ["dropped"], WithinNs = 2_000_000_000 },
        }).Outputs[0].Trials.Single();
        Assert.That((trial.Recognised, trial.ReactionNs), Is.EqualTo((hit, reactionMs * 1_000_000L)));
    }

    /// <summary>The onset's sample was sent 3 ms late, at 10.003 s, in a stretch that had arrived by 10.2 s.</summary>
    [TestCase(DecisionTiming.DeviceClock, 10_003, 5 + 3_000_000 + 197_000_000)]
    [TestCase(DecisionTiming.DeviceClock, 10_004, 5 + 3_000_000, Description = "the stretch begins after it")]
    [TestCase(DecisionTiming.Sample, 10_003, 5, Description = "a sample's own number does not depend on its way")]
    public void AnOnsetThatWasHeldUpOnItsWayIsKnownTheLess(DecisionTiming timing, long heldFromMs, long expectedNs)
    {
        var trial = Scorer.Score(new()
        {
            Reference = [new(S(0), S(10), "resting", 0), new(S(10), S(20), "carried", 1)],
            Decisions = [new(S(12), "carried") { UncertaintyNs = 5, Timing = timing }],
            End = S(20),
            Rate = new SampleRate(100_000),
            Playout = [new(1000, 10_000_000_000, 10_003_000_000)],
            HeldUp = [new(heldFromMs * 1_000_000, 10_100_000_000, 10_200_000_000)],
        }).Outputs[0].Trials[1];
        Assert.That((trial.ReactionNs, trial.UncertaintyNs), Is.EqualTo((2_000_000_000L, expectedNs)));
    }

    private static TrialScore Score(long uncertaintyNs, Decision[] decisions) => Scorer.Score(new()
    {
        Reference = [new(S(0), S(10), "resting", 0), new(S(10), S(20), "carried", 1) { UncertaintyNs = uncertaintyNs }],
        Decisions = decisions,
        End = S(20),
        Moved = true,
    }).Outputs[0].Trials[1];

    private static StimulusTime S(int s) => new(s * 1_000_000_000L);
}
