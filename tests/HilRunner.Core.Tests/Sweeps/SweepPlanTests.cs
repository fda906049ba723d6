using HilRunner.Core.Sweeps;

namespace HilRunner.Core.Tests.Sweeps;

public class SweepPlanTests
{
    private const string Good = """
        sweep: level of a vibration
        motion: {tone: [10 Hz, 16 Hz], peak: 0.02 g to 0.2 g by 10 mg, axis: z, up: -x}
        dwell: 6 s
        repeats: 7
        seed: 3
        events: [dropped]
        confidence: 0.9
        limits:
          - {measure: switch_up, class: conveyed, at_least: 50 mg, at_most: 0.06 g}
          - {measure: hysteresis_width, at_most: 98.0665 mm/s2}
        """;

    [Test]
    public void A_plan_is_read_in_base_units()
    {
        var plan = SweepPlanFile.Parse(Good.Replace("98.0665 mm/s2", "0.0980665 m/s2", StringComparison.Ordinal), "plan.yaml");
        Assert.Multiple(() =>
        {
            Assert.That((plan.Name, plan.Dwell, plan.Repeats, plan.Seed, plan.Confidence), Is.EqualTo(("level of a vibration", (TimeSpan?)TimeSpan.FromSeconds(6), 7, 3UL, 0.9)));
            Assert.That(plan.Motion.Range, Is.EqualTo(new SweptRange(0.02m, 0.2m, 0.01m)));
            Assert.That(plan.Motion.Range.Levels, Is.EqualTo(18));
            Assert.That(plan.Motion.Across, Is.SameAs(SweptParameter.Tone));
            Assert.That(plan.Motion.AcrossValues, Is.EqualTo(new[] { 10_000m, 16_000m }), "mHz");
            Assert.That(plan.Motion.Along, Is.SameAs(SweptParameter.Peak));
            Assert.That(plan.Limits[0], Is.EqualTo(new SweepLimit(SweepMeasure.SwitchUp, "conveyed", 0.05m, 0.06m)));
            // 1 g is 9.80665 m/s² (3rd CGPM, 1901).
            Assert.That(plan.Limits[1].AtMost, Is.EqualTo(0.01m).Within(1e-12m));
        });
    }

    [Test]
    public void The_dwell_may_be_found() => Assert.That(SweepPlanFile.Parse("sweep: s\nmotion: {rms: 1 mg to 9 mg by 1 mg, from: 5 Hz, to: 20 Hz, axis: x}\ndwell: found\n", "plan.yaml").Dwell, Is.Null);

    [TestCase("peak: 0.02 g to 0.2 g by 10 mg", "peak: 50 mg", "motion is without a range", "exactly one value that is a range")]
    [TestCase("tone: [10 Hz, 16 Hz]", "tone: 10 Hz to 20 Hz by 1 Hz", "with 2 ranges", "write the other as a list")]
    [TestCase("0.02 g to 0.2 g by 10 mg", "0.2 g to 0.02 g by 10 mg", "the lower value first", "")]
    [TestCase("0.02 g to 0.2 g by 10 mg", "0.02 g to 0.2 g by 7 mg", "a whole number of steps", "")]
    [TestCase("0.02 g to 0.2 g by 10 mg", "0.02 g to 0.03 g by 10 mg", "this has 1", "")]
    [TestCase("0.02 g to 0.2 g by 10 mg", "0.02 g to 0.2 g by 1 Hz", "the unit \"Hz\"", "")]
    [TestCase("0.02 g to 0.2 g by 10 mg", "0.02 g to 2000 g by 10 mg", "2000 g, which is not from 0 g to 1000 g", "")]
    [TestCase("[10 Hz, 16 Hz]", "[16 Hz, 10 Hz]", "rising values, each once", "")]
    [TestCase("axis: z", "axis: w", "axis", "x, y, z")]
    [TestCase("axis: z", "axis: z, rms: 1 mg", "tone", "rms")]
    [TestCase("axis: z", "axis: z, from: 1 Hz", "from beside tone", "remove it")]
    [TestCase("dwell: 6 s", "dwell: soon", "soon", "found")]
    [TestCase("dwell: 6 s\n", "", "no dwell", "")]
    [TestCase("at_most: 98.0665 mm/s2", "at_most: 5 Hz", "it is the peak that is swept", "")]
    [TestCase("at_most: 98.0665 mm/s2", "class: conveyed", "no bound", "at_least, at_most")]
    [TestCase("confidence: 0.9", "confidence: 0.3", "0.3", "")]
    public void What_cannot_be_swept_is_refused_with_its_place(string found, string put, string said, string also)
    {
        Assert.That(Good.Contains(found, StringComparison.Ordinal), "what the case changes is there");
        string text = Good.Replace(found, put, StringComparison.Ordinal).Replace("98.0665 mm/s2", "10 mg", StringComparison.Ordinal);
        var bad = Assert.Throws<BadInputException>(() => SweepPlanFile.Parse(text, "plan.yaml"));
        string all = string.Join('\n', bad.Faults.Select(f => f.ToString()));
        Assert.That(all, Does.Contain(said).And.Contain(also).And.Contain("plan.yaml:"));
    }
}
