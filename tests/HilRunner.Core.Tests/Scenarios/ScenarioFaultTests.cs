using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Tests.Documents;
using HilRunner.Core.Tests.Rigs;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Scenarios;

/// <summary>What a bad scenario file is told.</summary>
internal sealed class ScenarioFaultTests
{
    [TestCase("lead: 4 s ", "lead: ¦4 ", "lead is \"4\" without a unit; expected a duration with its unit, such as 12 s or 200 ms")]
    [TestCase("to: 74 s", "to: ¦7 s", "stimulus[0].to is \"7 s\"; expected an end after from, 12 s")]
    [TestCase("rotate: {z: 90 deg}", "rotate: {z: ¦90}", "stimulus[0].rotate.z is \"90\" without a unit; expected an angle with its unit, such as 90 deg or 1.57 rad")]
    [TestCase("[dropped]                    # momentary, see scoring.md\nunscored: [transition]\nlead: 4 s                            # unscored run-in, so that nothing is left in the device's windows\ngrace: 1 s\nwithin: 4 s\n", "¦[dropped]\n", "events without within; expected within: how long an event may be reported after its start, such as 4 s")]
    [TestCase("unscored: [transition]", "unscored: ¦[transition, dropped]", "unscored is dropped, which is under events too; expected a class in one of the two")]
    [TestCase("unscored: [transition]", "unscored: ¦transition", "unscored is \"transition\"; expected a list of unscored classes; put it into brackets: [ … ]")]
    [TestCase("at_most: 1.5 s", "at_most: ¦1.5", "limits[1].at_most is \"1.5\" without a unit; expected a duration with its unit, such as 12 s or 200 ms")]
    [TestCase("{measure: chatter_per_minute, at_most: 2}", "{measure: device_clock_ppm, at_most: ¦500}", "limits[2].at_most is \"500\" without a unit; expected a rate difference with its unit, such as 50 ppm or -20 ppm")]
    [TestCase("{measure: chatter_per_minute, at_most: 2}", "{measure: device_clock_ppm, at_most: ¦-20 ppm}", "limits[2].at_most is \"-20 ppm\"; expected a rate difference from 0 ppm to 1000000 ppm")]
    [TestCase("at_least: 0.95,", "at_least: ¦95,", "limits[0].at_least is \"95\"; expected a share from 0 to 1")]
    [TestCase("at_least: 0.95,", "at_least: ¦0.95, at_most: 0.99,", "both at_most and at_least in limits[0]; expected exactly one of at_most and at_least; remove one of them")]
    [TestCase("{measure: chatter_per_minute, at_most: 2}", "¦{measure: chatter_per_minute}", "neither at_most nor at_least in limits[2]; expected exactly one of at_most and at_least")]
    [TestCase("{measure: reaction, class: dropped, statistic: p95, ", "¦{measure: reaction, class: dropped, ", "reaction without a statistic in limits[1]; expected statistic: one of p50, p90, p95, p99, max, mean")]
    [TestCase("chatter_per_minute, ", "chatter_per_minute, statistic: ¦p95, ", "a statistic of chatter_per_minute in limits[2]; expected statistic only with reaction, settling, report_latency; remove it")]
    [TestCase("measure: recognised", "measure: ¦recognized", "limits[0].measure is \"recognized\"; expected one of accuracy, balanced_accuracy, recall, precision, f1, recognised, missed, reaction, settling, report_latency, dropouts, chatter_per_minute, surplus_per_minute, shortest_dwell, insertions, deletions, fragmented, merged, false_alarms_per_hour, device_resets, device_silences, device_clock_ppm; did you mean recognised?")]
    [TestCase("measure: recognised, class: carried", "measure: accuracy, class: ¦carried", "a class for accuracy in limits[0]; expected no class: this measure is of all classes together; remove it")]
    [TestCase("measure: reaction, class: dropped", "measure: settling, class: ¦dropped", "limits[1].class is the event dropped; expected a state: settling is not defined for events")]
    [TestCase("recognised, class: carried", "recognised, class: ¦transition", "limits[0].class is transition, which is never scored; expected a class that is not under unscored")]
    [TestCase("measure: chatter_per_minute", "measure: false_alarms_per_hour, class: ¦carried", "limits[2].class is carried; expected one of the events: dropped")]
    [TestCase("measure: recognised, class: carried, at_least: 0.95, confidence: 0.90", "measure: accuracy, at_least: 0.95, confidence: ¦0.90", "a confidence of accuracy in limits[0]; expected a confidence only with recognised, with p50, p90, p95, p99 of reaction, settling, report_latency, and with at_most of false_alarms_per_hour: these are figures of independent trials; remove it, or limit one of these")]
    [TestCase("confidence: 0.90", "confidence: ¦1", "limits[0].confidence is \"1\"; expected a share above 0, at most 0.999999")]
    [TestCase("{tone: 16 Hz, peak: 0.3 g", "¦{tone: 16 Hz", "no peak in stimulus[1].synth; expected peak: an acceleration with its unit, such as 1 mg or 0.3 g")]
    [TestCase("rest: 10 s, class", "rest: 10 s, for: ¦5 s, class", "for beside rest in stimulus[2].synth; expected for only beside tone, sweep, random, impact; remove it")]
    [TestCase("noise: 5 mg ", "noise: 5 mg\n    stretch: ¦2.5 ", "stimulus[0].stretch is \"2.5\"; expected a number from 0.5 to 2")]
    [TestCase("noise: 5 mg ", "noise: 5 mg\n    stretch: ¦1.0005 ", "stimulus[0].stretch is \"1.0005\"; expected a factor with at most three decimals")]
    [TestCase("noise: 5 mg ", "noise: 5 mg\n    mirror: ¦[x, x] ", "stimulus[0].mirror is an axis twice; expected each axis once")]
    [TestCase("noise: 5 mg ", "noise: 5 mg\n    offset: {gx: ¦20 mg} ", "stimulus[0].offset.gx is the unit \"mg\" in \"20 mg\" (known here: dps, mdps, deg/s, °/s, rad/s); expected an angular rate with its unit, such as 250 dps or 4 rad/s")]
    [TestCase("noise: 5 mg ", "noise: 5 mg\n    filter: {lowpass: 5 Hz, highpass: ¦1 Hz} ", "both lowpass and highpass in stimulus[0].filter; expected exactly one of lowpass and highpass and bandpass; remove one of them")]
    [TestCase("noise: 5 mg ", "noise: 5 mg\n    filter: {bandpass: ¦[5 Hz, 1 Hz]} ", "stimulus[0].filter.bandpass is a band without width; expected the lower frequency first")]
    [TestCase("noise: 5 mg ", "noise: 5 mg\n    dropouts: ¦{share: 2 %} ", "no length in stimulus[0].dropouts; expected length: a duration with its unit, such as 12 s or 200 ms")]
    [TestCase("noise: 5 mg ", "noise: 5 mg\n    mix: {with: {tone: 5 Hz, peak: 1 g, axis: x, for: 1 s}, format: ¦{columns: [ax]}} ", "format beside a made signal in stimulus[0].mix; expected format only beside a recording; remove it")]
    [TestCase("tone: 16 Hz, peak: 0.3 g", "sweep: {from: 5 Hz, to: ¦5 Hz}, peak: 0.3 g", "stimulus[1].synth.sweep.to is \"5 Hz\"; expected another frequency than from; use a tone")]
    [TestCase("tone: 16 Hz, peak: 0.3 g", "random: {from: 5 Hz, to: ¦4 Hz, rms: 0.1 g}", "stimulus[1].synth.random.to is \"4 Hz\"; expected a frequency above from")]
    [TestCase("tone: 16 Hz, peak: 0.3 g", "random: {density: {5 Hz: 0.1 g2/Hz, ¦4 Hz: 0.1 g2/Hz}}", "4 Hz after a frequency that is not lower, in stimulus[1].synth.random.density; expected rising frequencies")]
    [TestCase("tone: 16 Hz, peak: 0.3 g", "random: {density: {5 Hz: 0.1 g2/Hz, 9 Hz: ¦0.1 g/Hz}}", "stimulus[1].synth.random.density.9 Hz is the unit \"g/Hz\" in \"0.1 g/Hz\" (known here: g2/Hz, g²/Hz, (m/s2)2/Hz, (m/s²)²/Hz); expected an acceleration spectral density with its unit, such as 0.01 g2/Hz or 1 (m/s2)2/Hz")]
    [TestCase("tone: 16 Hz, peak: 0.3 g", "random: {from: 5 Hz, to: 20 Hz, rms: 0.1 g}, peak: ¦0.3 g", "peak beside random in stimulus[1].synth; expected peak only beside tone, sweep, impact; remove it")]
    [TestCase("tone: 16 Hz, peak: 0.3 g, axis: z, for: 20 s", "impact: 11 ms, peak: 50 g, axis: z, for: ¦10 ms", "stimulus[1].synth.for is \"10 ms\"; expected at least as long as the impact")]
    [TestCase("rest: 10 s, class", "free_fall: ¦1 kg, class", "stimulus[2].synth.free_fall is \"1 kg\"; expected a height or a duration with its unit, such as 1 m or 450 ms")]
    [TestCase("rest: 10 s, class", "free_fall: 1 m, up: ¦x, class", "up beside free_fall in stimulus[2].synth; expected no up: nothing is felt in free fall; remove it")]
    [TestCase("- synth: {rest", "- from: ¦1 s\n    synth: {rest", "from without play in stimulus[2]; expected from only beside play; remove it")]
    public void A_fault_names_place_finding_and_remedy(string good, string bad, string expected)
    {
        var (text, place) = MarkedText.Change(ScenarioFileTests.CarriedThenDropped, good, bad);
        var faults = Assert.Throws<BadInputException>(() => ScenarioFile.Parse(text, "s.yaml"))!.Faults;
        Assert.That(faults.Select(f => f.ToString()), Does.Contain($"s.yaml:{place}: {expected}"));
    }

    [Test]
    public void A_class_that_no_step_has_is_told_where_all_steps_are_known()
    {
        const string text = """
            scenario: still
            stimulus: [{synth: {rest: 10 s, class: resting}}]
            limits: [{measure: recall, class: restin, at_least: 0.9}]
            """;
        Assert.That(Assert.Throws<BadInputException>(() => ScenarioFile.Parse(text, "s.yaml"))!.Message,
            Is.EqualTo("s.yaml:3:35: limits[0].class is \"restin\", which no step has; expected one of resting; did you mean resting?"));
    }

    [Test]
    public void Limits_must_fit_the_rig_when_it_is_given()
    {
        using var folder = TestPaths.NewFolder();
        string path = folder.File("s.yaml");
        File.WriteAllText(path, ScenarioFileTests.CarriedThenDropped.Replace("class: carried, at", "class: carred, at", StringComparison.Ordinal)
            .Replace("class: dropped, stat", "class: dropped, output: activty, stat", StringComparison.Ordinal));
        Rig rig = RigFile.Parse(RigFileTests.Bench, "bench.yaml");
        Assert.That(ScenarioFile.Read(path).Rules.Limits[1].Output, Is.EqualTo("activty"));
        var faults = Assert.Throws<BadInputException>(() => ScenarioFile.Read(path, rig))!.Faults;
        Assert.That(faults.Select(f => f.Remedy), Is.EqualTo(new[] { "did you mean carried?", "did you mean activity?" }));
    }
}
