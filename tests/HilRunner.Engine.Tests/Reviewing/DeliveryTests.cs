using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Tests.Reviewing;

/// <summary>What each line of a rig file proves, on captures written by hand: 1000 samples in 10 s.</summary>
public class DeliveryTests
{
    private const long Ms = 1_000_000;
    private const string Counters =
        @"    counters: {ask: ""ct"", answer: '^ct (?<received>\d+) (?<bad>\d+) (?<said>\d+) (?<dropped>\d+)$'}";

    /// <summary>The review's rig with more lines under says, and perhaps without a number in the sample message.</summary>
    private static string Rig(string says = "", bool told = true, string more = "") => CaptureScript.Rig
        .Replace("    booted:", $"{says}\n    booted:".TrimStart('\n'), StringComparison.Ordinal)
        .Replace("s {n} {ax}", told ? "s {n} {ax}" : "s {ax}", StringComparison.Ordinal)
        .Replace("  input:", $"{more}\n  input:".TrimStart('\n'), StringComparison.Ordinal);

    private static CaptureScript Counted(int received, int bad, int said, int dropped) => new CaptureScript()
        .From(-500, "ct 4294967000 7 100 0\n").Begin().Origin().From(500, "c carried n40\n").From(5000, "c resting n490\n").Ends()
        .From(10_300, $"ct {(4294967000 + received) % 4294967296} {7 + bad} {100 + said} {dropped}\n").End();

    [TestCase(1000, 0, 2, 0, DeliveryOutcome.Delivered, DeliveryOutcome.Delivered)]
    [TestCase(999, 0, 2, 0, DeliveryOutcome.NotDelivered, DeliveryOutcome.Delivered)]
    [TestCase(1001, 0, 2, 0, DeliveryOutcome.NotDelivered, DeliveryOutcome.Delivered)]
    [TestCase(1000, 0, 3, 0, DeliveryOutcome.Delivered, DeliveryOutcome.NotDelivered)]
    [TestCase(1000, 0, 2, 1, DeliveryOutcome.Delivered, DeliveryOutcome.NotDelivered)]
    [TestCase(1000, 1, 2, 0, DeliveryOutcome.NotDelivered,
        DeliveryOutcome.Delivered, Description = "garbled, without a check sum")]
    public void TheDevicesOwnCountersProveBothWays(
        int received, int bad, int said, int dropped, DeliveryOutcome to, DeliveryOutcome from)
    {
        var evidence = Counted(received, bad, said, dropped).Read(rigText: Rig(Counters));
        Assert.That((evidence.Delivery.ToDevice.Outcome, evidence.Delivery.FromDevice.Outcome), Is.EqualTo((to, from)));
        Assert.That(evidence.Health.Faults.Count > 0, Is.EqualTo(evidence.Delivery.Outcome == DeliveryOutcome.NotDelivered));
        Assert.That(
            evidence.Delivery.CountOnly, Is.EqualTo(to == DeliveryOutcome.Delivered), "no check sum guards what was in them");
    }

    [Test]
    public void NothingDescribedProvesNothingAndSaysWhatToAdd()
    {
        var evidence = new CaptureScript().Begin().Origin().From(500, "c carried n40\n").Ends().End().Read();
        Assert.That(evidence.Delivery.Outcome, Is.EqualTo(DeliveryOutcome.NotShown));
        Assert.That(evidence.Delivery.Advice, Does.Contain("says.counters").And.Contain("received and said"));
        Assert.That(evidence.Delivery.AliveUntil, Is.EqualTo(StimulusTime.FromSeconds(0.5m)));
        Assert.That(evidence.Health.Faults, Is.Empty);
    }

    [TestCase(false, 999, DeliveryOutcome.Delivered, Description = "told no number, it can only count")]
    [TestCase(true, 999, DeliveryOutcome.NotShown, Description = "it repeats what it was told")]
    [TestCase(false, 990, DeliveryOutcome.NotDelivered)]
    public void CreditProvesWhereItCounts(bool told, int last, DeliveryOutcome expected)
    {
        var evidence = new CaptureScript().Begin().Origin().From(500, "c carried n40\n").Ends().From(10_200, $"k {last}\n").End()
            .Read(rigText: Rig(@"    credit: '^k (?<n>\d+)$'", told));
        Assert.That(evidence.Delivery.ToDevice.Outcome, Is.EqualTo(expected));
    }

    [Test]
    public void CreditOfEightBitsIsReadByWhatWasSent()
    {
        var script = new CaptureScript().Begin().Origin().From(500, "c carried n40\n");
        for (int n = 63; n < 1000; n += 64) { script.From(n * 10 + 5, $"k {n % 256}\n"); }
        var evidence = script.Ends().From(10_200, $"k {999 % 256}\n").End()
            .Read(rigText: Rig("    bits: {n: 8}\n    credit: '^k (?<n>\\d+)$'", told: false));
        Assert.That(evidence.Delivery.ToDevice.Outcome, Is.EqualTo(DeliveryOutcome.Delivered));
    }

    [TestCase(10_100, 0, true)]
    [TestCase(10_100, 60, false)]
    public void ADeviceThatCountsFallsBehindByWhatWasLost(double endMs, int lost, bool agrees)
    {
        var script = new CaptureScript().Begin().Origin();
        for (int i = 1; i <= 9; i++)
        {
            int sent = i * 100;
            script.From(sent * 10 + 15, $"c {(i % 2 == 0 ? "carried" : "resting")} n{sent - lost * i / 9}\n");
        }
        var evidence = script.Ends(endMs).End().Read(rigText: Rig(told: false));
        Assert.That(
            evidence.Delivery.ToDevice.Outcome, Is.EqualTo(agrees ? DeliveryOutcome.NotShown : DeliveryOutcome.NotDelivered));
        Assert.That(evidence.Decisions[^1].UncertaintyNs,
            Is.GreaterThanOrEqualTo(lost * 10_000_000L), "its number may stand for a later sample");
    }

    [TestCase("", DeliveryOutcome.Delivered)]
    [TestCase("5", DeliveryOutcome.NotDelivered)]
    [TestCase("9", DeliveryOutcome.NotDelivered, Description = "the last one")]
    public void WindowsWithoutAGapProveBothWays(string missing, DeliveryOutcome expected)
    {
        var script = new CaptureScript().Begin().Origin();
        for (int i = 0; i < 10; i++)
        {
            if (missing != $"{i}") { script.From(i * 1000 + 1000, $"c carried n{i * 100 + 99}\n"); }
        }
        var evidence = script.Ends().End().Read(rigText: Rig("    every: 1 s", told: false));
        Assert.That(evidence.Delivery.Outcome, Is.EqualTo(expected));
    }

    [Test]
    public void WindowsOutOfStepBetrayLostSamplesWhereNumbersAreRepeated()
    {
        var script = new CaptureScript().Begin().Origin();
        for (int i = 0; i < 10; i++) { script.From(i * 1000 + 1000, $"c carried n{i * 100 + (i < 6 ? 95 : 97)}\n"); }
        var evidence = script.Ends().End().Read(rigText: Rig(more: "  stale_after: 3 s"));
        Assert.That(evidence.Delivery.ToDevice.Outcome, Is.EqualTo(DeliveryOutcome.NotDelivered));
        Assert.That(evidence.Delivery.FromDevice.Outcome, Is.EqualTo(DeliveryOutcome.NotShown));
    }

    [TestCase(new[] { 254, 255, 0, 1 }, DeliveryOutcome.NotShown)]
    [TestCase(new[] { 254, 255, 1, 2 }, DeliveryOutcome.NotDelivered)]
    [TestCase(new[] { 254, 255, 255, 0 }, DeliveryOutcome.NotDelivered)]
    public void AGapInTheDevicesOwnNumbersIsALostMessage(int[] numbers, DeliveryOutcome expected)
    {
        var script = new CaptureScript().Begin().Origin();
        for (int i = 0; i < numbers.Length; i++)
        {
            script.From(1000 * i + 500, $"m {numbers[i]} {(i % 2 == 0 ? "carried" : "resting")}\n");
        }
        var evidence = script.Ends().End().Read(rigText: Rig("    bits: {seq: 8}")
            .Replace(@"'^c (?<class>\w+)( n(?<n>\d+))?( t(?<t_us>\d+))?$'",
                @"'^m (?<seq>\d+) (?<class>\w+)$'", StringComparison.Ordinal));
        Assert.That(evidence.Delivery.FromDevice.Outcome, Is.EqualTo(expected));
    }

    /// <summary>Garbled on a link without a check sum: taken as it stands, it would show that samples arrived which did
    /// not.</summary>
    [TestCase(5_000, 700, Description = "of a sample that was sent two seconds later")]
    [TestCase(10_150, 4_999, Description = "of a sample that there never was")]
    [TestCase(6_000, 470, Description = "less than before")]
    public void ACreditThatCannotBeProvesNothing(double atMs, int credit)
    {
        var script = new CaptureScript().Begin().Origin().From(500, "c carried n40\n").From(4_900, "k 485\n");
        if (atMs < 10_000) { script.From(atMs, $"k {credit}\n"); }
        script.From(9_990, "k 989\n").Ends();
        if (atMs > 10_000) { script.From(atMs, $"k {credit}\n"); }
        var evidence = script.End().Read(rigText: Rig(@"    credit: '^k (?<n>\d+)$'", told: false));
        Assert.That((evidence.Delivery.ToDevice.Outcome, evidence.Delivery.FromDevice.Outcome),
            Is.EqualTo((DeliveryOutcome.NotDelivered, DeliveryOutcome.NotDelivered)));
        Assert.That(evidence.Delivery.FromDevice.Evidence[0].Text, Does.Contain("1 message has a sample number that cannot be"));
    }

    /// <summary>
    /// Every second window lost looks like windows of twice the length. That the samples came is shown without any period: the
    /// last decision is of the last sample, and the device counts.
    /// </summary>
    [TestCase("    every: 1 s", "", DeliveryOutcome.Delivered)]
    [TestCase("", "  stale_after: 3 s", DeliveryOutcome.NotShown)]
    public void APeriodThatIsLearntProvesNothing(string says, string more, DeliveryOutcome expected)
    {
        var script = new CaptureScript().Begin().Origin();
        for (int i = 0; i < 10; i++) { script.From(i * 1000 + 1000, $"c carried n{i * 100 + 99}\n"); }
        var evidence = script.Ends().End().Read(rigText: Rig(says, told: false, more));
        Assert.That((evidence.Delivery.ToDevice.Outcome, evidence.Delivery.FromDevice.Outcome),
            Is.EqualTo((DeliveryOutcome.Delivered, expected)));
    }

    [TestCase(false, 0, 999, DeliveryOutcome.Delivered)]
    [TestCase(false, 0, 998, DeliveryOutcome.NotShown, Description = "one sample may be missing")]
    [TestCase(true, 0, 999, DeliveryOutcome.NotShown, Description = "it repeats what it was told")]
    [TestCase(false, 16, 999, DeliveryOutcome.Delivered)]
    [TestCase(false, 8, 999, DeliveryOutcome.NotShown, Description = "256 samples less look alike in 8 bits")]
    public void ALastDecisionOfTheLastSampleProvesWhereTheDeviceCounts(
        bool told, int bits, int last, DeliveryOutcome expected)
    {
        int number = bits == 8 ? last % 256 : last;
        var evidence = new CaptureScript().Begin().Origin().From(500, "c carried n40\n").Ends()
            .From(10_050, $"c resting n{number}\n")
            .End().Read(rigText: Rig(bits > 0 ? $"    bits: {{n: {bits}}}" : "", told));
        Assert.That(evidence.Delivery.ToDevice.Outcome, Is.EqualTo(expected));
        Assert.That(evidence.Delivery.FromDevice.Outcome, Is.EqualTo(DeliveryOutcome.NotShown), "others may be missing");
    }

    [TestCase(8, 744, DeliveryOutcome.NotShown, Description = "256 less than 1000 look alike in 8 bits")]
    [TestCase(8, 1000, DeliveryOutcome.NotShown)]
    [TestCase(8, 743, DeliveryOutcome.NotDelivered)]
    [TestCase(16, 1000, DeliveryOutcome.Delivered)]
    public void ACounterProvesWhatItCanCountWithoutBeginningAnew(int bits, int received, DeliveryOutcome expected)
    {
        int wraps = 1 << bits;
        var evidence = new CaptureScript().From(-500, "ct 250 7\n").Begin().Origin().From(500, "c carried n40\n").Ends()
            .From(10_300, $"ct {(250 + received) % wraps} 8\n").End()
            .Read(rigText: Rig($"    counters: {{ask: \"ct\", answer: '^ct (?<received>\\d+) (?<said>\\d+)$', bits: {bits}}}"));
        Assert.That(evidence.Delivery.ToDevice.Outcome, Is.EqualTo(expected));
        Assert.That(evidence.Delivery.FromDevice.Outcome, Is.EqualTo(DeliveryOutcome.Delivered),
            "one message is less than any width");
    }

    [TestCase(2_500, false)]
    [TestCase(3_500, true)]
    public void NumbersOfMessagesMayHideAsManyAsTheyBeginAnewAfter(double secondMs, bool hides)
    {
        var evidence = new CaptureScript().Begin().Origin().From(500, "m 0 carried\n").From(secondMs, "m 1 resting\n").Ends()
            .End()
            .Read(rigText: Rig("    bits: {seq: 8}").Replace(@"'^c (?<class>\w+)( n(?<n>\d+))?( t(?<t_us>\d+))?$'",
                @"'^m (?<seq>\d+) (?<class>\w+)$'", StringComparison.Ordinal));
        Assert.That(evidence.Delivery.FromDevice.Evidence.Single(e => e.Source == "seq")
            .Text.Contains("begin anew", StringComparison.Ordinal),
            Is.EqualTo(hides), "255 samples or more lie between two messages");
    }

    /// <summary>24 ms of work on each sample of 20 ms: behind more and more, with everything that was sent.</summary>
    [Test]
    public void ADeviceThatIsMerelySlowLostNothing()
    {
        var script = new CaptureScript().From(-500, "ct 0 0\n").Begin().Origin();
        for (int i = 1; i <= 9; i++) { script.From(i * 1000,
            $"c {(i % 2 == 0 ? "carried" : "resting")} n{(int)(i * 100 / 1.2)}\n"); }
        script.Ends();
        var counted = script.From(12_300, "ct 1000 9\n").End()
            .Read(rigText: Rig(@"    counters: {ask: ""ct"", answer: '^ct (?<received>\d+) (?<said>\d+)$'}", told: false));
        Assert.That(counted.Delivery.Outcome, Is.EqualTo(DeliveryOutcome.Delivered));
        Assert.That(counted.Delivery.ToDevice.Evidence.Select(e => e.Text),
            Has.One.Contains("takes them more slowly than they are played"));
    }

    /// <summary>Asked nothing in mid-run: what answered eight times before the run and never after it fell silent.</summary>
    [TestCase("", 0, 1, Description = "nothing brings an answer: nobody's")]
    [TestCase("reset", 1, 0, Description = "a reset does: its own")]
    public void ASilenceIsSeenByQuestionsAfterTheEnd(string by, int silences, int faults)
    {
        var script = new CaptureScript();
        for (int i = 0; i < 8; i++) { script.AsksCounters(-900 + i * 50, "before", "ct 0 0"); }
        script.Begin().Origin().From(500, "c carried n40\n").Ends();
        for (int i = 0; i < 3; i++) { script.AsksCounters(10_200 + i * 1000, "after", null); }
        for (int i = 0; i < 14; i++) { script.Asks(13_300 + i * 300); }
        script.Revival("waiting", false);
        if (by.Length > 0) { script.Revival(by, true); }
        var evidence = script.End()
            .Read(rigText: Rig(@"    counters: {ask: ""ct"", answer: '^ct (?<received>\d+) (?<said>\d+)$'}")
            .Replace("  clock: {ask: \"t {token}\", answer: '^t (?<token>\\d+) (?<t_us>\\d+)$', bits: 32}\n", "",
                StringComparison.Ordinal));
        Assert.That((evidence.Device.Silences, evidence.Health.Faults.Count), Is.EqualTo((silences, faults)),
            string.Join('\n', evidence.Health.Faults));
        if (faults > 0) { Assert.That(evidence.Health.Faults[0], Does.StartWith("the device fell silent after 0.5")); }
    }

    /// <summary>Asked again after a second, it answers both: its first answer was late, and nothing was lost.</summary>
    [Test]
    public void ALateAnswerIsNoLostQuestion()
    {
        var evidence = new CaptureScript()
            .AsksCounters(-3000, "before", null).AsksCounters(-2000, "before", null).From(-1990, "ct 0\nct 0\n")
            .Begin().Origin().From(500, "c carried n40\n").Ends().AsksCounters(12_000, "after", "ct 1000").End()
            .Read(rigText: Rig(@"    counters: {ask: ""ct"", answer: '^ct (?<received>\d+)$'}"));
        Assert.That(evidence.Delivery.FromDevice.Evidence.Single(e => e.Source == "questions").Text, Does.Contain("3 of 3"));
        Assert.That(evidence.Health.Faults, Is.Empty);
    }

    [Test]
    public void QuestionsCanOnlyDisprove()
    {
        CaptureScript Asked(int unanswered)
        {
            var script = new CaptureScript().Begin().Origin().From(500, "c carried n40\n");
            for (int i = 0; i < 19; i++)
            {
                script.Clock(100 + i, "during",
                    i * 500 + 600, i % 6 == 2 && i / 6 < unanswered ? null : 10_600_000 + i * 500_000, i * 500 + 601);
            }
            return script.Ends();
        }
        var clean = Asked(0).End().Read();
        Assert.That(clean.Delivery.Outcome, Is.EqualTo(DeliveryOutcome.NotShown));
        Assert.That(clean.Delivery.ToDevice.Evidence.Single(e => e.Source == "questions").Text, Does.Contain("19 of 19"));
        // 3 of 19 leave at least 4.4 % at 95 % (exact, Clopper and Pearson).
        var lossy = Asked(3).End().Read();
        Assert.That(lossy.Delivery.Outcome, Is.EqualTo(DeliveryOutcome.NotDelivered));
        Assert.That(lossy.Health.Faults, Has.One.Contains("3 of 19 questions"));
    }

    [Test]
    public void UnansweredQuestionsToTheEndAreASilence()
    {
        var script = new CaptureScript();
        for (int i = 0; i < 8; i++) { script.Clock(1 + i, "before", -900 + i * 50, 9_100_000 + i * 50_000, -899 + i * 50); }
        script.Begin().Origin().From(500, "c carried n40\n");
        for (int i = 0; i < 19; i++)
        {
            script.Clock(100 + i, "during", i * 500 + 600, i < 5 ? 10_600_000 + i * 500_000 : null, i * 500 + 601);
        }
        var evidence = script.Ends().Revival("waiting", false).End().Read();
        Assert.That((evidence.Device.Silences, evidence.StillSilent), Is.EqualTo((0, true)));
        Assert.That(evidence.Health.Faults, Has.One.Contains("fell silent after 2.6"));
        Assert.That(evidence.Delivery.Outcome, Is.EqualTo(DeliveryOutcome.NotShown), "delivery is judged up to the silence");
    }

    [Test]
    public void AClassThatTheMapDoesNotHoldIsNoneAndIsNamed()
    {
        var evidence = new CaptureScript().Begin().Origin().From(500, "c 1 n40\n").From(900, "c 7 n80\n").Ends().End()
            .Read(rigText: Rig(more: "  classes: {0: resting, 1: carried}"));
        Assert.That(evidence.Decisions.Select(d => d.Class), Is.EqualTo(new[] { "carried", Decision.NoClass }));
        Assert.That(evidence.Notes, Has.One.Contains("\"7\" (1 times)"));
    }

    [TestCase(false, 0, 1)]
    [TestCase(true, 1, 0)]
    public void WhatFitsNoDescriptionStandsBesideTheVerdictOrCountsAgainstTheRig(bool ignores, int faults, int notes)
    {
        string rig = Rig(ignores ? "    ignore: ['^# ']" : "")
            .Replace("health: {lines_unknown: 0}", "health: {}", StringComparison.Ordinal);
        var evidence = new CaptureScript().Begin().Origin()
            .From(500, "c carried n40\n").From(700, "# chat\n").From(800, "c rest#ng n70\n")
            .Ends().End().Read(rigText: rig);
        Assert.That((evidence.Health.Faults.Count, evidence.Notes.Count), Is.EqualTo((faults, notes)));
        Assert.That(evidence.Health.LinesUnknown, Is.EqualTo(ignores ? 1 : 2));
    }

    [Test]
    public void ALinkThatStallsWidensWhatIsPlacedByTheClock()
    {
        CaptureScript Stalled(double delayMs)
        {
            var script = new CaptureScript().Begin().Origin();
            for (int i = 0; i < 12; i++)
            {
                double sent = i * 500 + 200, delay = i is 4 or 5 or 9 ? delayMs : 1;
                script.Clock(100 + i, "during", sent, 10_200_000 + i * 500_000 + (long)(500 * delay), sent + delay);
            }
            return script.From(3605, "c carried t13600000\n").Ends();
        }
        Assert.That(Stalled(1).End().Read().Decisions.Single().UncertaintyNs, Is.LessThan(2_000_000L));
        // The last question before it that had certainly arrived was sent at 3.2 s: what was sent since may have been held up.
        Assert.That(Stalled(300).End().Read().Decisions.Single().UncertaintyNs, Is.InRange(395_000_000L, 410_000_000L));
    }

    /// <summary>
    /// A question that was sent at 2.2 s comes back at 2.5 s, the next one at once: what was sent meanwhile had arrived when the
    /// next was answered, at 2.701 s. What was sent after it came back was not held up.
    /// </summary>
    [Test]
    public void WhatWasSentDuringAStallHadArrivedWhenTheNextQuestionWasAnswered()
    {
        var script = new CaptureScript().Begin().Origin();
        for (int i = 0; i < 12; i++)
        {
            double sent = i * 500 + 200, delay = i == 4 ? 300 : 1;
            script.Clock(100 + i, "during", sent, 10_200_000 + i * 500_000 + (long)(1000 * delay), sent + delay);
        }
        var held = script.From(3605, "c carried t13600000\n").Ends().End().Read().HeldUp;
        // The one before it was answered in time; the stall began after it at the earliest.
        Assert.That(held.Select(h => (h.FromNs / Ms, h.ToNs / Ms, h.ByNs / Ms)), Is.EqualTo(new[]
        {
            (1700.0, 2200.0, 2500.0), (2200.0, 2500.0, 2701.0),
        }).Within(0.01));
    }
}
