using System.Text;
using HilRunner.Core.Capture;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Engine.Reviewing;
using HilRunner.Testing;
using HilRunner.Transport.Capture;
using HilRunner.Transport.Decoding;

namespace HilRunner.Engine.Tests.Reviewing;

/// <summary>A capture written by hand, record by record, and what the review makes of it.</summary>
public class CaptureReviewTests
{
    private const string Rig = """
        rig: review
        device:
          link: {serial: {port: /dev/ttyS9, baud: 9600}}
          framing: lines
          hears: {sample: "s {n} {ax}"}
          says:
            decisions: '^c (?<class>\w+)( n(?<n>\d+))?( t(?<t_us>\d+))?$'
            booted: '^boot (?<version>\S+)$'
          input: {rate: 100 Hz, channels: {ax: {count: 1 mg, range: 8 g}}}
          clock: {ask: "t {token}", answer: '^t (?<token>\d+) (?<t_us>\d+)$', bits: 32}
        health: {lines_unknown: 0}
        """;

    private const long Ms = 1_000_000;

    [Test]
    public void ASampleNumberPlacesADecisionExactly()
    {
        var evidence = new Script().Begin().Origin().From(500, "c carried n140\n").End().Read(lead: 100);
        var decision = evidence.Decisions.Single();
        Assert.That((decision.Timing, decision.Sample, decision.Time, decision.UncertaintyNs),
            Is.EqualTo((DecisionTiming.Sample, 40L, StimulusTime.FromSeconds(0.4m), 0L)));
        Assert.That(decision.ArrivalNs, Is.EqualTo(500 * Ms));
    }

    [Test]
    public void TheDevicesClockPlacesADecisionWithinItsBound()
    {
        // The device's clock is 10 s ahead of the origin and 110 ppm fast; exchanges take 4 ms before and after.
        var evidence = new Script()
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
        var decision = new Script().Begin().Origin().From(2100, "c carried\n").End().Read().Decisions.Single();
        Assert.That(decision.Timing, Is.EqualTo(DecisionTiming.Arrival));
        // One byte, 8N1, at 9600 baud: 1041.67 µs (10 bits).
        Assert.That(decision.Time.Ns, Is.EqualTo(2100 * Ms - 1_041_667));
        Assert.That(decision.UncertaintyNs, Is.Null);
    }

    [Test]
    public void ABannerInMidRunIsAResetAndItsClockStartsAnew()
    {
        var evidence = new Script()
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
        var evidence = new Script()
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

    [Test]
    public void AClockThatBeginsAnewBetraysAResetWithoutABanner()
    {
        var evidence = new Script()
            .Clock(1, "before", sentMs: -1000, deviceUs: 9_000_000, answeredMs: -999)
            .Begin().Origin().From(600, "c carried t80000\n")
            .Clock(100, "during", sentMs: 700, deviceUs: 200_500, answeredMs: 701).End().Read();
        Assert.That(evidence.Device.Resets, Is.EqualTo(1));
        Assert.That(evidence.Incidents.Single().What, Does.Contain("began anew"));
        Assert.That(evidence.Decisions.Single().Timing, Is.EqualTo(DecisionTiming.Arrival), "its stamp may be of either clock");
    }

    [Test]
    public void AClockThatJumpsIsNoReset()
    {
        var evidence = new Script()
            .Clock(1, "before", sentMs: -1000, deviceUs: 9_000_000, answeredMs: -999)
            .Begin().Origin().From(600, "c carried n40\n")
            .Clock(100, "during", sentMs: 700, deviceUs: 99_000_000, answeredMs: 701).End().Read();
        Assert.That((evidence.Device.Resets, evidence.Timing.Epochs), Is.EqualTo((0, 2)));
        Assert.That(evidence.Incidents.Single().What, Does.Contain("jumped"));
    }

    [Test]
    public void LostAnswersAreCountedAndDoNoHarm()
    {
        var script = new Script().Clock(1, "before", sentMs: -1000, deviceUs: 9_000_000, answeredMs: -999).Begin().Origin();
        for (int i = 0; i < 5; i++) { script.Clock(100 + i, "during", sentMs: 500 + i * 500, deviceUs: null, answeredMs: 0); }
        var timing = script.Clock(105, "during", sentMs: 4000, deviceUs: 14_000_100, answeredMs: 4001).From(4100, "c carried n9\n").End().Read().Timing;
        Assert.That((timing.Exchanges, timing.Unanswered, timing.UnevenNs, timing.LeastDelayNs), Is.EqualTo((2, 5, 0L, (long?)Ms)));
    }

    [Test]
    public void WithoutStampsHalfTheFastestAnswerIsTakenOffAndSaid()
    {
        var evidence = new Script()
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
        var decision = new Script().Begin().Origin().From(2100, "c carried\n").Paced(stampNs: 120_000).End().Read().Decisions.Single();
        Assert.That(decision.ArrivalUncertaintyNs, Is.EqualTo(120_000 + 10 * 1_041_667));
        Assert.That(new Script().Begin().Origin().From(2100, "c carried\n").End().Read().Decisions.Single().ArrivalUncertaintyNs, Is.Null);
    }

    [Test]
    public void WhereSamplesWereLateStimulusTimeWasLateWithThem()
    {
        // Every sample was 4 ms late: what the device decided at 1 s of the host's time, it decided 0.996 s into the stimulus.
        var decision = new Script()
            .Clock(1, "before", sentMs: -1000, deviceUs: 9_000_000, answeredMs: -1000)
            .Begin().Origin().From(1001, "c carried t11000000\n")
            .Clock(2, "after", sentMs: 9000, deviceUs: 19_000_000, answeredMs: 9000).End().Read(lateMs: _ => 4).Decisions.Single();
        Assert.That(decision.Time.Ns, Is.EqualTo(996 * Ms).Within(5000));
        Assert.That(decision.UncertaintyNs, Is.EqualTo(4 * Ms).Within(5000), "an onset's sample may have been on time");
    }

    [Test]
    public void LatenessForWantOfCreditIsSaidToBeThat()
    {
        var health = new Script().Begin().Origin().From(300, "c carried n1\n").Paced(120_000, waits: 12, waitNs: 3400 * Ms).End()
            .Read(lateMs: n => n > 100 ? 60 : 0).Health;
        Assert.That(health.Faults.Single(), Does.Contain("late").And.Contains("waited for credit 12 times, 3400 ms in all; play slower"));
    }

    [Test]
    public void AStallOfTheHostIsNotPutDownToCredit()
    {
        var health = new Script().Begin().Origin().From(300, "c carried n1\n").Paced(120_000, waits: 1, waitNs: 70 * Ms).End()
            .Read(lateMs: n => n == 100 ? 1800 : 0).Health;
        Assert.That(health.Faults.Single(), Does.Contain("late").And.Not.Contain("credit"));
    }

    [Test]
    public void WhatWasSaidBeforeTheRunIsNoDecision() =>
        Assert.That(new Script().From(-500, "c carried\n").Begin().Origin().End().Read().Decisions, Is.Empty);

    [Test]
    public void GarbageIsTheRigsTroubleWhereTheRigSaysSo()
    {
        var health = new Script().From(-500, "noise\n").Begin().Origin().From(300, "c carr\u0001ed\nc carried n10\n").End().Read().Health;
        Assert.That(health.LinesUnknown, Is.EqualTo(1), "what came before the run does not count");
        Assert.That(health.Faults, Has.One.Contains("not understood"));
    }

    [Test]
    public void WhatAResetCutsOffIsNotTheRigsTrouble()
    {
        Script Until() => new Script().Begin().Origin().From(200, "c carried n10\n");
        var cut = Until().From(300, "c carried n\nboot 2\ne 1 unknown\ne 1 unknown\n").End("silent").Read();
        Assert.That((cut.Device.Resets, cut.Health.LinesUnknown, cut.Health.Faults.Count), Is.EqualTo((1, 0L, 0)));
        var noisy = Until().From(300, "noise\nnoise\nc carried n\nboot 2\n").End("silent").Read();
        Assert.That((noisy.Device.Resets, noisy.Health.LinesUnknown), Is.EqualTo((1, 2L)), "garbage before it is");
    }

    [Test]
    public void ADeviceThatWasNeverUnderstoodIsNotCalledSilent()
    {
        var mute = new Script().Begin().Origin().End().Read();
        Assert.That(mute.Device.Silences, Is.Zero);
        Assert.That(mute.Health.Faults, Has.One.Contains("nothing was heard"));
        var other = new Script().From(-500, "boot 1\n").Begin().Origin().From(300, "MOTION=1\n").From(400, "MOTION=2\n").End().Read();
        Assert.That(other.Device.Silences, Is.Zero);
        Assert.That(other.Health.Faults, Has.One.Contains("2 messages fit no pattern; check says.decisions"));
    }

    [Test]
    public void ADeviceThatSpokeBeforeAndSaysNothingMoreWasSilent()
    {
        var evidence = new Script().From(-500, "boot 1\n").Begin().Origin().End().Read();
        Assert.That(evidence.Device.Silences, Is.EqualTo(1));
        Assert.That(evidence.Health.Faults, Is.Empty, "its link was there");
    }

    [TestCase("silent", false)]
    [TestCase("link_lost", true)]
    [TestCase("stopped", true)]
    [TestCase("no_answer", true)]
    public void WhoIsAtFaultForAnEarlyEnd(string cause, bool rig)
    {
        var health = new Script().Begin().Origin().From(300, "c carried n1\n").End(cause).Read(played: 50).Health;
        Assert.That((health.Incomplete, health.Faults.Count > 0), Is.EqualTo((rig, rig)));
    }

    [Test]
    public void ACaptureWithoutAnEndIsNotTakenForAWholeRun()
    {
        var evidence = new Script().Begin().Origin().From(300, "c carried n1\n").Read(played: 50);
        Assert.That(evidence.EndCause, Is.Null);
        Assert.That(evidence.Health.Incomplete);
        Assert.That(evidence.End, Is.EqualTo(StimulusTime.FromSeconds(0.5m)), "scored as far as it went");
    }

    [Test]
    public void LateSamplesAreCountedAgainstTheLimit()
    {
        var health = new Script().Begin().Origin().From(300, "c carried n1\n").End().Read(lateMs: n => n == 7 ? 6 : 0).Health;
        Assert.That((health.Late, health.LateMaxNs), Is.EqualTo((1L, (long?)(6 * Ms))));
        Assert.That(health.Faults, Has.One.Contains("late"));
    }

    /// <summary>Times in ms since the origin of the stimulus.</summary>
    private sealed class Script
    {
        private readonly List<Action<ICaptureWriter>> _records = [];
        private readonly HostClock _clock = new(TimeProvider.System);
        private readonly HostTime _zero;

        public Script() => _zero = _clock.Now;

        public Script From(double ms, string text)
        {
            _records.Add(w => w.Bytes(CaptureKind.FromDevice, At(ms), Encoding.UTF8.GetBytes(text)));
            return this;
        }

        public Script Begin() => Event(-10, RunEventNames.Step, ("step", "begin"));

        public Script Origin() => Event(0, RunEventNames.Origin, ("unix_ns", $"{_clock.ToUnixNs(_zero)}"));

        public Script End(string cause = "completed") => Event(20_000, RunEventNames.Ended, ("cause", cause), ("message", $"it was {cause}"));

        public Script Paced(long stampNs, int waits = 0, long waitNs = 0) => Event(
            19_000, RunEventNames.Paced, ("stamp_ns", $"{stampNs}"), ("credit_waits", $"{waits}"), ("credit_wait_ns", $"{waitNs}"));

        /// <param name="deviceUs">Null: no answer.</param>
        public Script Clock(int token, string when, double sentMs, long? deviceUs, double answeredMs)
        {
            Event(sentMs, RunEventNames.Step, ("step", "clock"), ("when", when), ("token", $"{token}"), ("sent_unix_ns", $"{_clock.ToUnixNs(At(sentMs))}"));
            return deviceUs is null ? this : From(answeredMs, $"t {token} {deviceUs}\n");
        }

        public RunEvidence Read(int lead = 0, int? played = null, Func<int, double>? lateMs = null)
        {
            using var folder = TestPaths.NewFolder("review");
            string path = folder.File(RunFiles.Capture);
            using (var writer = new CaptureStore().Create(path, _clock)) { _records.ForEach(r => r(writer)); }
            var rig = RigFile.Parse(Rig, "rig.yaml");
            const int samples = 1000;
            var manifest = TestManifest.Of("review", rig.Device.Input.Rate, samples + lead, lead, ["ax"]);
            PlayoutRow[] playout =
            [
                .. Enumerable.Range(-lead, (played ?? samples) + lead)
                    .Select(n => new PlayoutRow(n, n * 10 * Ms, n * 10 * Ms + (long)((lateMs?.Invoke(n) ?? 0) * Ms))),
            ];
            using var format = new DeviceFormatFactory().Create(rig.Device);
            using var reader = new CaptureStore().Open(path);
            return CaptureReview.Read(rig, manifest, playout, format, reader);
        }

        private Script Event(double ms, string name, params (string, string)[] details)
        {
            _records.Add(w => w.Event(At(ms), name, details));
            return this;
        }

        private HostTime At(double ms) => new(_zero.Ns + (long)(ms * Ms));
    }
}
