using CsCheck;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals.Transforms;
using HilRunner.Core.Signals;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Scenarios;

/// <summary>What <c>vary:</c> asks for, and what becomes of a step.</summary>
internal sealed class VaryTests
{
    [Test]
    public void A_grid_is_every_value_with_every_other_the_last_changing_fastest()
    {
        var names = Read("grid: {rotate: {x: 0 deg to 30 deg by 15 deg}, scale: [0.8, 1]}").Variations.Select(v => string.Join(", ", v.Values));
        Assert.That(names, Is.EqualTo(new[]
        {
            "rotate x 0 deg, scale 0.8", "rotate x 0 deg, scale 1", "rotate x 15 deg, scale 0.8", "rotate x 15 deg, scale 1", "rotate x 30 deg, scale 0.8", "rotate x 30 deg, scale 1",
        }));
    }

    [TestCase("0 deg to 30 deg by 7.5 deg", "0 7.5 15 22.5 30")]
    [TestCase("-10 deg to 10 deg by 10 deg", "-10 0 10")]
    [TestCase("0° to 1° by 0.25°", "0 0.25 0.5 0.75 1")]
    public void A_range_holds_both_its_ends(string range, string values) =>
        Assert.That(Read($"grid: {{rotate: {{y: {range}}}}}").Variations.Select(v => v.Values.Single().Value), Is.EqualTo(values.Split(' ').Select(v => decimal.Parse(v, System.Globalization.CultureInfo.InvariantCulture))));

    [Test]
    public void A_step_is_changed_on_top_of_what_it_says_itself()
    {
        var scenario = Read("grid: {rotate: {x: [5 deg]}, scale: [0.5], offset: {az: [20 mg], gz: [1 dps]}, stretch: [1.1], noise: [12 mg]}",
            "rotate: {z: 90 deg}, scale: 0.8, offset: {az: 10 mg}, stretch: 1.2, noise: 5 mg");
        var played = scenario.Variations.Single().Apply(scenario);
        var step = (PlayStep)played.Steps[0];
        Assert.Multiple(() =>
        {
            Assert.That(played.Name, Is.EqualTo("s, rotate x 5 deg, scale 0.5, offset az 20 mg, offset gz 1 dps, stretch 1.1, noise 12 mg"));
            Assert.That(step.Rotate, Is.EqualTo(new Rotation[] { new('z', 90), new('x', 5) }));
            Assert.That(step.Scale, Is.EqualTo(0.4).Within(1e-15));
            Assert.That(step.Offsets["az"], Is.EqualTo(0.03).Within(1e-15));
            Assert.That(step.Offsets["gz"], Is.EqualTo(1));
            Assert.That(step.StretchPermille, Is.EqualTo(1320));
            Assert.That(step.NoiseG, Is.EqualTo(0.013).Within(1e-15), "5, 12 and 13 mg: variances add up");
            Assert.That(played.Steps[1], Is.SameAs(scenario.Steps[1]), "what is no recording stays");
        });
    }

    /// <summary>The same counts as the same transform written beside play.</summary>
    [TestCase("rotate: {x: [30 deg]}", "rotate: {x: 30 deg}")]
    [TestCase("noise: [20 mg]", "noise: 20 mg")]
    [TestCase("stretch: [1.1]", "stretch: 1.1")]
    [TestCase("offset: {ay: [-30 mg]}", "offset: {ay: -30 mg}")]
    [TestCase("scale: [1]", "scale: 1")]
    public void A_variation_plays_as_if_it_were_written_out(string varied, string written)
    {
        string path = Path.Combine(TestPaths.Root, "scenarios", "parcel", "recordings", "drops.csv");
        var channels = new[] { "ax", "ay", "az" }.Select(c => new InputChannel(c, 0.001, 8)).ToList();
        var input = new InputSpec(new SampleRate(100_000), channels);
        var asked = ScenarioFile.Parse($"scenario: s\nstimulus: [{{play: \"{path}\"}}]\nvary: {{grid: {{{varied}}}}}\n", "s.yaml");
        var plain = ScenarioFile.Parse($"scenario: s\nstimulus: [{{play: \"{path}\", {written}}}]\n", "s.yaml");
        Assert.That(StimulusBuilder.Build(asked.Variations.Single().Apply(asked), "", input, 3).Counts, Is.EqualTo(StimulusBuilder.Build(plain, "", input, 3).Counts));
    }

    [Test]
    public void A_sample_holds_one_value_in_every_part_of_every_range() => Gen.Select(Gen.Int[1, 60], Gen.ULong).Sample((count, seed) =>
    {
        var values = Read($"sample: {{count: {count}, seed: {seed}, rotate: {{x: -30 deg to 30 deg}}, scale: 0.8 to 1.2}}").Variations;
        bool Even(int column, decimal from, decimal to)
        {
            decimal width = (to - from) / count;
            decimal[] sorted = [.. values.Select(v => v.Values[column].Value).Order()];
            return sorted.Select((v, i) => v >= from + i * width - 0.0005m && v <= from + (i + 1) * width + 0.0005m).All(inside => inside);
        }
        return values.Count == count && Even(0, -30, 30) && Even(1, 0.8m, 1.2m);
    }, iter: 200);

    [Test]
    public void A_sample_follows_from_its_seed_and_a_parameter_more_leaves_the_others_alone()
    {
        string Column(string sample, string key) => string.Join(' ', Read($"sample: {{{sample}}}").Variations.Select(v => v.Values.Single(x => x.Parameter.Key == key)));
        string alone = Column("count: 20, seed: 7, noise: 0 mg to 20 mg", "noise");
        Assert.Multiple(() =>
        {
            Assert.That(Column("count: 20, seed: 7, noise: 0 mg to 20 mg", "noise"), Is.EqualTo(alone));
            Assert.That(Column("count: 20, seed: 7, scale: 0.5 to 2, noise: 0 mg to 20 mg", "noise"), Is.EqualTo(alone));
            Assert.That(Column("count: 20, seed: 8, noise: 0 mg to 20 mg", "noise"), Is.Not.EqualTo(alone));
        });
    }

    [TestCase("grid: {rotate: {x: 0 deg to 30 deg by 7 deg}}", "vary.grid.rotate.x is \"0 deg to 30 deg by 7 deg\", whose steps end at 28 deg; expected a whole number of steps; end at 28 deg or 35 deg")]
    [TestCase("grid: {rotate: {x: 0 deg to 30 by 7 deg}}", "with \"30\" without a unit; expected a range such as 0 deg to 30 deg by 7.5 deg")]
    [TestCase("grid: {rotate: {x: 30 deg to 0 deg by 10 deg}}", "expected the lower value first")]
    [TestCase("grid: {scale: 0.8 to 1.2}", "vary.grid.scale is \"0.8 to 1.2\"; expected a range such as 0.9 to 1.1 by 0.1")]
    [TestCase("sample: {count: 4, scale: 0.8 to 1.2 by 0.1}", "expected a range such as 0.9 to 1.1")]
    [TestCase("grid: {stretch: 0.4 to 1 by 0.1}", "\"0.4\", which is not from 0.5 to 2")]
    [TestCase("grid: {noise: [5 mg, 0.005 g]}", "vary.grid.noise is 5 mg twice; expected each value once, to 0.001 mg")]
    [TestCase("grid: {}", "an empty map")]
    [TestCase("sample: {count: 4}", "a sample of nothing; expected ranges beside count")]
    [TestCase("grid: {rotate: {x: 0 deg to 90 deg by 1 deg}, scale: 0.5 to 1.5 by 0.1}", "91 × 11 = 1001 combinations; expected at most 1000; take fewer values, or draw some of them: sample: {count: 200, …}")]
    [TestCase("grid: {scale: 0 to 1000 by 1}", "1001 values; expected at most 1000; take wider steps")]
    [TestCase("sample: {count: 1001, scale: 0.5 to 1.5}", "expected a whole number from 1 to 1000")]
    [TestCase("grid: {tilt: [1 deg]}", "unknown key \"tilt\" in vary.grid; expected one of rotate, scale, offset, stretch, noise")]
    public void A_fault_says_what_to_do(string vary, string expected) =>
        Assert.That(Assert.Throws<BadInputException>(() => Read(vary))!.Message, Does.Contain(expected));

    [Test]
    public void Nothing_but_recordings_is_varied() =>
        Assert.That(Assert.Throws<BadInputException>(() => ScenarioFile.Parse("scenario: s\nstimulus: [{synth: {rest: 1 s, class: resting}}]\nvary: {grid: {scale: [1, 2]}}\n", "s.yaml"))!.Message,
            Does.Contain("at least one step that plays a recording"));

    private static Scenario Read(string vary, string step = "scale: 1") => ScenarioFile.Parse(
        $"scenario: s\nstimulus:\n  - {{play: a.csv, {step}}}\n  - synth: {{rest: 1 s, class: resting}}\nvary: {{{vary}}}\n", "s.yaml");
}
