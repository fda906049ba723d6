using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Tests.Reviewing;

/// <summary>A capture written by hand, record by record, and what the review makes of it.</summary>
public class CaptureReviewTests
{
    private const long Ms = 1_000_000;

    [Test]
    public void ASampleNumberPlacesADecisionExactly()
    {
        var evidence = new CaptureScript().Begin().Origin().From(500, "c carried n140\n").End().Read(lead: 100);
        var decision = evidence.Decisions.Single();
        Assert.That((decision.Timing, decision.Sample, decision.Time, decision.UncertaintyNs),
            Is.EqualTo((DecisionTiming.Sample, 40L, StimulusTime.FromSeconds(0.4m), 0L)));
        Assert.That(decision.ArrivalNs, Is.EqualTo(500 * Ms));
    }

    [Test]
    public void TheDevicesClockPlacesADecisionWithinItsBound()
    {
        // The device's clock is 10 s ahead of the origin and 110 ppm fast; exchanges take 4 ms before and after.
        var evidence = new CaptureScript()
            .Clock(1, "before", sentMs: -1000, deviceUs: 9_000_000 + 1_900, answeredMs: -996)
            .Begin().Origin()
            .From(2100, "c carried t12000300\n")
            .Clock(2, "after", sentMs: 9000, deviceUs: 19_000_000 + 2_000 + 1_000, answeredMs: 9004)
            .End().Read();
        var decision = evidence.Decisions.Single();
        Assert.That(decision.Timing, Is.EqualTo(DecisionTiming.DeviceClock));
        Assert.That(Math.Abs(decision.Time.Ns - 2000 * Ms), Is.LessThanOrEqualTo(decision.UncertaintyNs!.Value));
        Assert.That(decision.UncertaintyNs, Is.InRange(1 * Ms, 3 * Ms));
        Assert.That(evidence.Device.ClockPpm, Is.Null, "±400 ppm is no knowledge");
        Assert.That(evidence.Health.Faults, Has.One.Contains("clock"), "±2 ms and a nanosecond is more than the limit of 2 ms");
    }

    [Test]
    public void WithoutEitherTheArrivalLessTheTimeOnTheWireCounts()
    {
        var decision = new CaptureScript().Begin().Origin().From(2100, "c carried\n").End().Read().Decisions.Single();
        Assert.That(decision.Timing, Is.EqualTo(DecisionTiming.Arrival));
        // One byte, 8N1, at 9600 baud: 1041.67 µs (10 bits).
        Assert.That(decision.Time.Ns, Is.EqualTo(2100 * Ms - 1_041_667));
        Assert.That(decision.UncertaintyNs, Is.Null);
    }

    [Test]
    public void ABannerInMidRunIsAResetAndItsClockStartsAnew()
    {
        var evidence = new CaptureScript()
            .From(-2000, "boot 1\n")
            .Clock(1, "before", sentMs: -1000, deviceUs: 9_000_000, answeredMs: -1000)
            .Begin().Origin().From(500, "boot 2\n").From(900, "c carried t400000\n").End().Read();
        Assert.That(evidence.Device.Resets, Is.EqualTo(1), "the banner before the run is none");
        Assert.That(evidence.Decisions.Single().Timing, Is.EqualTo(DecisionTiming.Arrival), "the old clock says nothing about the new one");
        Assert.That(evidence.Incidents.Single().At, Is.EqualTo(StimulusTime.FromSeconds(0.5m)));
    }

    [Test]
    public void AfterAResetTheClockIsComparedAnew()
    {
        var evidence = new CaptureScript()
            .Clock(1, "before", sentMs: -1000, deviceUs: 9_000_000, answeredMs: -999)
            .Begin().Origin().From(500, "boot 2\n")
            .Clock(100, "during", sentMs: 700, deviceUs: 200_500, answeredMs: 701).From(900, "c carried t390000\n")
            .Clock(101, "during", sentMs: 1700, deviceUs: 1_200_500, answeredMs: 1701).End().Read();
        var decision = evidence.Decisions.Single();
        Assert.That(decision.Timing, Is.EqualTo(DecisionTiming.DeviceClock));
        Assert.That(Math.Abs(decision.Time.Ns - 890 * Ms), Is.LessThanOrEqualTo(decision.UncertaintyNs!.Value));
        Assert.That(decision.UncertaintyNs, Is.LessThan(1 * Ms));
        Assert.That((evidence.Timing.Epochs, evidence.Timing.Exchanges, evidence.Device.Resets), Is.EqualTo((2, 3, 1)));
    }

    [TestCase(200_500, 700_500, TestName = "A clock that begins anew at 0")]
    [TestCase(99_000_000, 99_500_000, TestName = "A clock that begins anew at any other value")]
    public void AClockThatBeginsAnewBetraysAResetWithoutABanner(long firstUs, long secondUs)
    {
        var evidence = new CaptureScript()
            .Clock(1, "before", sentMs: -1000, deviceUs: 9_000_000, answeredMs: -999)
            .Clock(2, "before", sentMs: -900, deviceUs: 9_100_000, answeredMs: -899)
            .Begin().Origin().From(600, "c carried t80000\n")
            .Clock(100, "during", sentMs: 700, deviceUs: firstUs, answeredMs: 701)
            .Clock(101, "during", sentMs: 1200, deviceUs: secondUs, answeredMs: 1201).End().Read();
        Assert.That((evidence.Device.Resets, evidence.Timing.Epochs), Is.EqualTo((1, 2)));
        Assert.That(evidence.Incidents.Single().What, Does.Contain("began anew"));
        Assert.That(evidence.Decisions.Single().Timing, Is.EqualTo(DecisionTiming.Arrival), "its stamp may be of either clock");
    }

    [Test]
    public void AClockThatStoodStillIsNoReset()
    {
        var evidence = new CaptureScript()
            .Clock(1, "before", sentMs: -1000, deviceUs: 9_000_000, answeredMs: -999)
            .Clock(2, "before", sentMs: -900, deviceUs: 9_100_000, answeredMs: -899)
            .Begin().Origin().From(600, "c carried t80000\n")
            .Clock(100, "during", sentMs: 700, deviceUs: 10_200_500, answeredMs: 701)
            .Clock(101, "during", sentMs: 1200, deviceUs: 10_700_500, answeredMs: 1201).End().Read();
        Assert.That((evidence.Device.Resets, evidence.Timing.Epochs), Is.EqualTo((0, 2)));
        Assert.That(evidence.Incidents.Single().What, Does.Contain("jumped").And.Contain("0.50 s"));
        Assert.That(evidence.Decisions.Single().Timing, Is.EqualTo(DecisionTiming.Arrival), "its stamp may be of either clock");
    }

    /// <summary>
    /// A device halted for half a second while it is asked every half second, from every moment between two questions: one that
    /// is
    /// asked meanwhile is answered after it. Where it is halted just before a question, that answer alone would fit a running
    /// clock.
    /// </summary>
    [Test]
    public void AClockThatStoodStillWhileAnAnswerWasOnItsWayIsSeen() => Assert.Multiple(() =>
    {
        for (int sinceQuestion = 0; sinceQuestion < 500; sinceQuestion += 10) { HaltedAt(3000 + sinceQuestion); }
    });

    private static void HaltedAt(double halted)
    {
        var script = new CaptureScript()
            .Clock(1, "before", sentMs: -1000, deviceUs: 9_000_500, answeredMs: -999)
            .Clock(2, "before", sentMs: -900, deviceUs: 9_100_500, answeredMs: -899)
            .Begin().Origin();
        for (int i = 0; i < 19; i++)
        {
            double sent = 500 + i * 500, answered = sent < halted || sent >= halted + 500 ? sent + 1 : halted + 501;
            double stood = Math.Clamp(answered - 0.5 - halted, 0, 500);
            script.Clock(100 + i, "during", sent, (long)((10_000 + answered - 0.5 - stood) * 1000), answered);
        }
        var evidence = script.End().Read();
        Assert.That((evidence.Device.Resets, evidence.Timing.Epochs, evidence.Timing.UnevenNs), Is.EqualTo((0, 2, 0L)),
            $"halted at {halted} ms");
        Assert.That(evidence.Incidents.Single().What, Does.Contain("jumped").And.Contain("0.50 s"));
        Assert.That(Math.Abs(evidence.Device.ClockPpm ?? 0), Is.LessThanOrEqualTo(evidence.Device.ClockPpmUncertainty ?? 0));
    }

    /// <summary>
    /// The figures of a device that answered 501982, 502492, 502847 and 502987 over a link that drops bytes: two answers lack the
    /// same digit, and agree with each other since they were asked at once one after the other.
    /// </summary>
    [Test]
    public void AnswersThatLackADigitBeforeTheRunAreNoResetInIt()
    {
        var evidence = new CaptureScript()
            .Clock(1, "before", sentMs: -504.2, deviceUs: 50_192, answeredMs: -503.5)
            .Clock(2, "before", sentMs: -503.4, deviceUs: 2_492, answeredMs: -503.1)
            .Clock(3, "before", sentMs: -503.0, deviceUs: 50_247, answeredMs: -502.8)
            .Clock(4, "before", sentMs: -502.79, deviceUs: 50_298, answeredMs: -502.6)
            .Begin().Origin()
            .Clock(100, "during", sentMs: 100.1, deviceUs: 1_106_609, answeredMs: 100.3)
            .Clock(101, "during", sentMs: 210.1, deviceUs: 1_216_576, answeredMs: 210.3).End().Read();
        Assert.That((evidence.Device.Resets, evidence.Incidents.Count), Is.EqualTo((0, 0)));
        Assert.That(evidence.Notes, Has.One.Contains("garbled"));
    }

    /// <summary>Both lack their first digit, an answer before them another one.</summary>
    [Test]
    public void WhereAnswersAreGarbledAClockThatBeginsAnewLeavesTheRunOpen()
    {
        var evidence = new CaptureScript()
            .Clock(1, "before", sentMs: -1000, deviceUs: 19_000_500, answeredMs: -999)
            .Clock(2, "before", sentMs: -900, deviceUs: 19_100_500, answeredMs: -899)
            .Begin().Origin()
            .Clock(100, "during", sentMs: 500, deviceUs: 20_005, answeredMs: 501)
            .Clock(101, "during", sentMs: 1000, deviceUs: 1_000_500, answeredMs: 1001)
            .Clock(102, "during", sentMs: 1500, deviceUs: 1_500_500, answeredMs: 1501)
            .Clock(103, "during", sentMs: 2000, deviceUs: 22_000_500, answeredMs: 2001)
            .Clock(104, "during", sentMs: 2500, deviceUs: 22_500_500, answeredMs: 2501).End().Read();
        Assert.That(evidence.Device.Resets, Is.Zero);
        Assert.That(evidence.Health.Faults, Has.One.Contains("whether the device was reset is not known"));
    }

    /// <summary>
    /// It is ahead of the last answer, and can have begun at 0 since: it ran for too short a time before the reset.
    /// </summary>
    [Test]
    public void AClockThatMayHaveBegunAtZeroIsAResetAlthoughItWentOn()
    {
        var evidence = new CaptureScript()
            .Clock(1, "before", sentMs: -1000, deviceUs: 100_000, answeredMs: -999)
            .Clock(2, "before", sentMs: -900, deviceUs: 200_000, answeredMs: -899)
            .Begin().Origin()
            .Clock(100, "during", sentMs: 700, deviceUs: 400_500, answeredMs: 701)
            .Clock(101, "during", sentMs: 1200, deviceUs: 900_500, answeredMs: 1201).End().Read();
        Assert.That((evidence.Device.Resets, evidence.Timing.Epochs), Is.EqualTo((1, 2)));
    }

    [Test]
    public void OneGarbledAnswerAboutTheClockIsNoReset()
    {
        var evidence = new CaptureScript()
            .Clock(1, "before", sentMs: -1000, deviceUs: 9_000_000, answeredMs: -999)
            .Begin().Origin().From(600, "c carried n40\n")
            .Clock(100, "during", sentMs: 700, deviceUs: 99_000_000, answeredMs: 701)
            .Clock(101, "during", sentMs: 1200, deviceUs: 11_200_500, answeredMs: 1201).End().Read();
        Assert.That((evidence.Device.Resets, evidence.Timing.Epochs), Is.EqualTo((0, 1)));
        Assert.That(evidence.Notes, Has.One.Contains("garbled"));
        Assert.That(evidence.Health.Faults, Is.Empty);
    }

    [Test]
    public void ALastAnswerThatNoClockCanHaveGivenLeavesTheRunOpen()
    {
        var evidence = new CaptureScript()
            .Clock(1, "before", sentMs: -1000, deviceUs: 9_000_000, answeredMs: -999)
            .Begin().Origin().From(600, "c carried n40\n")
            .Clock(100, "during", sentMs: 700, deviceUs: 99_000_000, answeredMs: 701).End().Read();
        Assert.That(evidence.Device.Resets, Is.Zero);
        Assert.That(evidence.Health.Faults, Has.One.Contains("reset, or the answer was garbled"));
    }

    [Test]
    public void LostAnswersAreCountedAndDoNoHarm()
    {
        var script = new CaptureScript().Clock(1, "before", sentMs: -1000, deviceUs: 9_000_000, answeredMs: -999)
            .Begin().Origin();
        for (int i = 0; i < 5; i++) { script.Clock(100 + i, "during", sentMs: 500 + i * 500, deviceUs: null, answeredMs: 0); }
        var timing = script.Clock(105, "during", sentMs: 4000, deviceUs: 14_000_100, answeredMs: 4001).From(4100, "c carried n9\n").End().Read().Timing;
        Assert.That((timing.Exchanges, timing.Unanswered, timing.UnevenNs, timing.LeastDelayNs), Is.EqualTo((2, 5, 0L, (long?)Ms)));
    }

    [Test]
    public void WithoutStampsHalfTheFastestAnswerIsTakenOffAndSaid()
    {
        var evidence = new CaptureScript()
            .Clock(1, "before", sentMs: -1000, deviceUs: 9_000_000, answeredMs: -997)
            .Begin().Origin().From(2100, "c carried\n").End().Read();
        var decision = evidence.Decisions.Single();
        Assert.That((decision.Time.Ns, decision.UncertaintyNs), Is.EqualTo((2098_500_000L, (long?)null)));
        Assert.That((evidence.Timing.LinkNs, evidence.Timing.LinkFrom), Is.EqualTo(((long?)1_500_000, "half of the fastest of 1 clock answers")));
    }

    /// <summary>The read that brought "c carried\n" returned after its tenth byte: 10 byte times of 1041.667 µs (8N1 at 9600 baud).</summary>
    [Test]
    public void TheArrivalIsKnownToTheWakeUpAndTheBytesOfItsRead()
    {
        var decision = new CaptureScript().Begin().Origin()
            .From(2100, "c carried\n").Paced(stampNs: 120_000).End().Read().Decisions.Single();
        Assert.That(decision.ArrivalUncertaintyNs, Is.EqualTo(120_000 + 10 * 1_041_667));
        Assert.That(
            new CaptureScript().Begin().Origin().From(2100, "c carried\n").End().Read().Decisions.Single().ArrivalUncertaintyNs,
            Is.Null);
    }

    [Test]
    public void WhereSamplesWereLateStimulusTimeWasLateWithThem()
    {
        // Every sample was 4 ms late: what the device decided at 1 s of the host's time, it decided 0.996 s into the stimulus.
        var decision = new CaptureScript()
            .Clock(1, "before", sentMs: -1000, deviceUs: 9_000_000, answeredMs: -1000)
            .Begin().Origin().From(1001, "c carried t11000000\n")
            .Clock(2, "after", sentMs: 9000, deviceUs: 19_000_000, answeredMs: 9000).End().Read(lateMs: _ => 4).Decisions.Single();
        Assert.That(decision.Time.Ns, Is.EqualTo(996 * Ms).Within(5000));
        Assert.That(decision.UncertaintyNs, Is.EqualTo(4 * Ms).Within(5000), "an onset's sample may have been on time");
    }

    [Test]
    public void LatenessForWantOfCreditIsSaidToBeThat()
    {
        var health = new CaptureScript().Begin().Origin()
            .From(300, "c carried n1\n").Paced(120_000, waits: 12, waitNs: 3400 * Ms).End()
            .Read(lateMs: n => n > 100 ? 60 : 0).Health;
        Assert.That(health.Faults.Single(), Does.Contain("late").And.Contains("waited for credit 12 times, 3400 ms in all; play slower"));
    }

    [Test]
    public void AStallOfTheHostIsNotPutDownToCredit()
    {
        var health = new CaptureScript().Begin().Origin()
            .From(300, "c carried n1\n").Paced(120_000, waits: 1, waitNs: 70 * Ms).End()
            .Read(lateMs: n => n == 100 ? 1800 : 0).Health;
        Assert.That(health.Faults.Single(), Does.Contain("late").And.Not.Contain("credit"));
    }

    [Test]
    public void WhatWasSaidBeforeTheRunIsNoDecision() =>
        Assert.That(new CaptureScript().From(-500, "c carried\n").Begin().Origin().End().Read().Decisions, Is.Empty);

    [Test]
    public void GarbageIsTheRigsTroubleWhereTheRigSaysSo()
    {
        var health = new CaptureScript().From(-500, "noise\n")
            .Begin().Origin().From(300, "c carr\u0001ed\nc carried n10\n").End().Read().Health;
        Assert.That(health.LinesUnknown, Is.EqualTo(1), "what came before the run does not count");
        Assert.That(health.Faults, Has.One.Contains("not understood"));
    }

    [Test]
    public void WhatAResetCutsOffIsNotTheRigsTrouble()
    {
        CaptureScript Until() => new CaptureScript().Begin().Origin().From(200, "c carried n10\n");
        var cut = Until().From(300, "c carried n\nboot 2\ne 1 unknown\ne 1 unknown\n").End("silent").Read();
        Assert.That((cut.Device.Resets, cut.Health.LinesUnknown, cut.Health.Faults.Count), Is.EqualTo((1, 0L, 0)));
        var noisy = Until().From(300, "noise\nnoise\nc carried n\nboot 2\n").End("silent").Read();
        Assert.That((noisy.Device.Resets, noisy.Health.LinesUnknown), Is.EqualTo((1, 2L)), "garbage before it is");
    }

    [Test]
    public void ADeviceThatWasNeverUnderstoodIsNotCalledSilent()
    {
        var mute = new CaptureScript().Begin().Origin().End().Read();
        Assert.That(mute.Device.Silences, Is.Zero);
        Assert.That(mute.Health.Faults, Has.One.Contains("nothing was heard"));
        var other = new CaptureScript().From(-500, "boot 1\n")
            .Begin().Origin().From(300, "MOTION=1\n").From(400, "MOTION=2\n").End().Read();
        Assert.That(other.Device.Silences, Is.Zero);
        Assert.That(other.Health.Faults, Has.One.Contains("2 messages fit no pattern; check says.decisions"));
    }

    [TestCase("reset", 1, false)]
    [TestCase("power cycle", 1, false)]
    [TestCase("waiting", 0, true)]
    [TestCase(null, 0, true)]
    public void ASilenceIsTheDevicesOwnOnlyWhereAResetBringsAnAnswer(string? by, int silences, bool rigsFault)
    {
        var script = new CaptureScript().From(-500, "boot 1\n");
        for (int i = 0; i < 8; i++) { script.Clock(1 + i, "before", -400 + i * 20, 9_600_000 + i * 20_000, -399 + i * 20); }
        script.Begin().Origin().From(500, "c carried n40\n").Silent();
        for (int i = 0; i < 14; i++) { script.Asks(12_000 + 300 * i); }
        script.Revival("waiting", by == "waiting");
        if (by is not (null or "waiting")) { script.Revival(by, true); }
        var evidence = script.End().Read();
        Assert.That(evidence.Device.Silences, Is.EqualTo(silences));
        Assert.That(evidence.Health.Faults.Count > 0, Is.EqualTo(rigsFault));
        Assert.That(evidence.StillSilent, Is.EqualTo(by is null));
    }

    [TestCase(14, 1, null)]
    [TestCase(3, 0, "the begin message may have been lost")]
    public void ADeviceThatSaidNothingSinceBeginIsJudgedByTheQuestionsItLeftUnanswered(
        int unanswered, int silences, string? fault)
    {
        var script = new CaptureScript().From(-500, "boot 1\n");
        for (int i = 0; i < 8; i++) { script.Clock(1 + i, "before", -400 + i * 20, 9_600_000 + i * 20_000, -399 + i * 20); }
        script.Begin().Origin().Silent();
        for (int i = 0; i < unanswered; i++) { script.Asks(12_000 + 300 * i); }
        var evidence = script.Revival("waiting", false).Revival("power cycle", true).End().Read();
        Assert.That(evidence.Device.Silences, Is.EqualTo(silences));
        Assert.That(evidence.Health.Faults, fault is null ? Is.Empty : Has.One.Contains(fault));
    }

    [Test]
    public void AStartThatOpeningThePortCausedIsNoReset()
    {
        var caused = new CaptureScript().Opened(-300).Begin()
            .Origin().From(900, "boot 1\n").From(2000, "c carried n190\n").End().Read();
        Assert.That(caused.Device.Resets, Is.Zero);
        Assert.That(caused.Health.Faults, Has.One.Contains("on_open: {wait: 3 s, until: booted}"));
        var own = new CaptureScript().Opened(-300).From(-200, "boot 1\n")
            .Begin().Origin().From(900, "boot 1\n").From(2000, "c carried n190\n").End().Read();
        Assert.That(own.Device.Resets, Is.EqualTo(1), "it had started already");
        Assert.That(own.Health.Faults, Is.Empty);
    }

    [TestCase("silent", false)]
    [TestCase("link_lost", true)]
    [TestCase("stopped", true)]
    [TestCase("no_answer", true)]
    public void WhoIsAtFaultForAnEarlyEnd(string cause, bool rig)
    {
        var health = new CaptureScript().Begin().Origin().From(300, "c carried n1\n").End(cause).Read(played: 50).Health;
        Assert.That((health.Incomplete, health.Faults.Count > 0), Is.EqualTo((rig, rig)));
    }

    [Test]
    public void ACaptureWithoutAnEndIsNotTakenForAWholeRun()
    {
        var evidence = new CaptureScript().Begin().Origin().From(300, "c carried n1\n").Read(played: 50);
        Assert.That(evidence.EndCause, Is.Null);
        Assert.That(evidence.Health.Incomplete);
        Assert.That(evidence.End, Is.EqualTo(StimulusTime.FromSeconds(0.5m)), "scored as far as it went");
    }

    [Test]
    public void LateSamplesAreCountedAgainstTheLimit()
    {
        var health = new CaptureScript().Begin().Origin()
            .From(300, "c carried n1\n").End().Read(lateMs: n => n == 7 ? 6 : 0).Health;
        Assert.That((health.Late, health.LateMaxNs), Is.EqualTo((1L, (long?)(6 * Ms))));
        Assert.That(health.Faults, Has.One.Contains("late"));
    }
}
