using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Signals.Transforms;
using HilRunner.Core.Time;

namespace HilRunner.Core.Tests.Scenarios;

/// <summary>What a good scenario file becomes.</summary>
internal sealed class ScenarioFileTests
{
    /// <summary>The scenario of the product's contract.</summary>
    internal const string CarriedThenDropped = """
        scenario: carried then dropped
        stimulus:
          - play: recordings/depot-morning.csv
            from: 12 s
            to: 74 s
            rotate: {z: 90 deg}
            noise: 5 mg            # seeded
          - synth: {tone: 16 Hz, peak: 0.3 g, axis: z, for: 20 s, class: conveyed}
          - synth: {rest: 10 s, class: resting}
          - prompt: {say: "carry it across the room", for: 20 s, class: carried}   # moved by hand: no injection, no shaker
        classes: {walked_with: carried}      # label → device class; unlisted labels keep their name
        events: [dropped]                    # momentary, see scoring.md
        unscored: [transition]
        lead: 4 s                            # unscored run-in, so that nothing is left in the device's windows
        grace: 1 s
        within: 4 s
        limits:
          - {measure: recognised, class: carried, at_least: 0.95, confidence: 0.90}
          - {measure: reaction, class: dropped, statistic: p95, at_most: 1.5 s}
          - {measure: chatter_per_minute, at_most: 2}
        """;

    [Test]
    public void The_scenario_of_the_contract_reads()
    {
        Scenario scenario = ScenarioFile.Parse(CarriedThenDropped, "scenarios/carried.yaml");
        Assert.Multiple(() =>
        {
            Assert.That(scenario.Name, Is.EqualTo("carried then dropped"));
            var play = (PlayStep)scenario.Steps[0];
            Assert.That(play.Path, Is.EqualTo("recordings/depot-morning.csv"));
            Assert.That(play.From, Is.EqualTo(StimulusTime.FromSeconds(12)));
            Assert.That(play.To, Is.EqualTo(StimulusTime.FromSeconds(74)));
            Assert.That(play.Rotate, Is.EqualTo(new[] { new Rotation('z', 90) }));
            Assert.That(play.NoiseG, Is.EqualTo(0.005));
            Assert.That(play.Scale, Is.EqualTo(1));
            Assert.That(scenario.Steps[1], Is.EqualTo(new SynthStep(TimeSpan.FromSeconds(20), "conveyed", new Tone(16, 0.3, new('z')))));
            Assert.That(scenario.Steps[2], Is.EqualTo(new SynthStep(TimeSpan.FromSeconds(10), "resting", new Rest())));
            Assert.That(scenario.Steps[3], Is.EqualTo(new PromptStep("carry it across the room", TimeSpan.FromSeconds(20), "carried")));
            Assert.That(scenario.Classes, Is.EqualTo(new Dictionary<string, string> { ["walked_with"] = "carried" }));
            Assert.That(scenario.Lead, Is.EqualTo(TimeSpan.FromSeconds(4)));
            Assert.That(scenario.Rules.Events, Is.EqualTo(new[] { "dropped" }));
            Assert.That(scenario.Rules.Unscored, Is.EqualTo(new[] { "transition" }));
            Assert.That(scenario.Rules.GraceNs, Is.EqualTo(1_000_000_000));
            Assert.That(scenario.Rules.WithinNs, Is.EqualTo(4_000_000_000));
            Assert.That(scenario.Rules.Limits, Is.EqualTo(new Limit[]
            {
                new(Measure.Recognised) { Class = "carried", AtLeast = 0.95, Confidence = 0.9 },
                new(Measure.Reaction) { Class = "dropped", Statistic = Statistic.P95, AtMost = 1.5 },
                new(Measure.ChatterPerMinute) { AtMost = 2 },
            }));
        });
    }

    [TestCase("500 ppm", 500)]
    [TestCase("0.05 %", 500)]
    [TestCase("2 %", 20_000)]
    public void A_clock_rate_is_written_in_ppm_or_per_cent(string written, double ppm)
    {
        string text = CarriedThenDropped.Replace("{measure: chatter_per_minute, at_most: 2}", $"{{measure: device_clock_ppm, at_most: {written}}}", StringComparison.Ordinal);
        Assert.That(ScenarioFile.Parse(text, "scenarios/carried.yaml").Rules.Limits[2], Is.EqualTo(new Limit(Measure.DeviceClockPpm) { AtMost = ppm }));
    }
}
