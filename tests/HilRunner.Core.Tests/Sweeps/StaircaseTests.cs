using System.Globalization;
using CsCheck;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Sweeps;

namespace HilRunner.Core.Tests.Sweeps;

public class StaircaseTests
{
    private static readonly Gen<SweepPlan> s_plans = Gen.Select(Gen.Int[0, 300], Gen.Int[1, 30], Gen.Int[2, 30], Gen.Int[1, 12], Gen.ULong, Gen.Int[0, 3]).Select((from, by, steps, repeats, seed, across) =>
        SweepPlanFile.Parse(string.Create(CultureInfo.InvariantCulture, $$"""
            sweep: any
            motion: {tone: {{(across < 2 ? "16 Hz" : across == 2 ? "[8 Hz, 16 Hz]" : "[8 Hz, 16 Hz, 31.5 Hz]")}}, peak: {{from}} mg to {{from + by * steps}} mg by {{by}} mg, axis: z}
            dwell: 2 s
            repeats: {{repeats}}
            seed: {{seed}}
            """), "any.yaml"));

    [Test]
    public void Every_leg_walks_the_whole_range_by_the_step() => s_plans.Sample(plan =>
    {
        var range = plan.Motion.Range;
        foreach (var leg in Staircase.Of(plan).SelectMany(l => l.Legs))
        {
            decimal[] rising = [.. leg.Rising ? leg.Levels : leg.Levels.Reverse()];
            Assert.That(rising, Has.Length.EqualTo(range.Levels));
            Assert.That(rising[0], Is.InRange(range.From, range.From + range.By));
            Assert.That(rising[^1], Is.LessThan(range.To));
            Assert.That(rising.Zip(rising.Skip(1), (a, b) => b - a), Has.All.EqualTo(range.By));
        }
    }, iter: 300);

    /// <summary>As a Latin hypercube does it (McKay, Beckman and Conover, Technometrics 21(2), 1979).</summary>
    [Test]
    public void Legs_begin_once_in_every_part_of_the_first_step() => s_plans.Sample(plan =>
    {
        var loops = Staircase.Of(plan);
        Assert.That(loops, Has.Count.EqualTo(plan.Repeats * Math.Max(1, plan.Motion.AcrossValues.Count)));
        Assert.That(loops.Select(l => l.Number), Is.EqualTo(Enumerable.Range(1, loops.Count)));
        foreach (var same in loops.GroupBy(l => l.Across))
        {
            Assert.That(same.Count(l => l.Legs[0].Rising), Is.EqualTo((plan.Repeats + 1) / 2), "half of them begin at the top");
            foreach (bool up in (bool[])[true, false])
            {
                var parts = same.SelectMany(l => l.Legs).Where(l => l.Rising == up)
                    .Select(l => (int)decimal.Floor((l.Levels.Min() - plan.Motion.Range.From) / plan.Motion.Range.By * plan.Repeats + 1e-6m));
                Assert.That(parts, Is.EquivalentTo(Enumerable.Range(0, plan.Repeats)));
            }
        }
    }, iter: 300);

    [Test]
    public void The_same_seed_makes_the_same_loops_and_another_others() => s_plans.Where(p => p.Repeats > 1).Sample(plan =>
    {
        string One(SweepPlan p) => string.Join('\n', Staircase.Of(p).Select(l => $"{l.Across} {string.Join(' ', l.Levels)}"));
        Assert.That(One(plan), Is.EqualTo(One(plan with { })));
        Assert.That(One(plan), Is.Not.EqualTo(One(plan with { Seed = plan.Seed ^ 1 })));
    }, iter: 100);

    [Test]
    public void A_loop_is_a_scenario_that_plays_its_levels_after_a_run_in() => s_plans.Sample(plan =>
    {
        var loop = Staircase.Of(plan)[0];
        string text = Staircase.Scenario(plan, "a \"loop\": #1", loop.Across, loop.Levels.Select(l => l.Level), TimeSpan.FromSeconds(2.5));
        var scenario = ScenarioFile.Parse(text, "loop.yaml");
        Assert.That(scenario.Name, Is.EqualTo("a \"loop\": #1"));
        var tones = scenario.Steps.Cast<SynthStep>().Select(s => (s.For, Tone: (Tone)s.Signal)).ToList();
        Assert.That(tones.Select(t => t.For), Has.All.EqualTo(TimeSpan.FromSeconds(2.5)));
        Assert.That(tones.Select(t => t.Tone.Hz), Has.All.EqualTo((double)(loop.Across ?? 16_000) / 1000));
        double[] levels = [.. loop.Levels.Select(l => (double)l.Level)];
        Assert.That(tones.Select(t => t.Tone.PeakG), Is.EqualTo(levels.Prepend(levels[0])).Within(1e-12));
    }, iter: 100);

    [Test]
    public void Random_vibration_is_swept_by_its_rms()
    {
        var plan = SweepPlanFile.Parse("sweep: s\nmotion: {rms: 10 mg to 50 mg by 10 mg, from: 5 Hz, to: 20 Hz, axis: -y}\ndwell: 1 s\n", "plan.yaml");
        var step = (SynthStep)ScenarioFile.Parse(Staircase.Scenario(plan, "s", null, [0.03m], TimeSpan.FromSeconds(1)), "s.yaml").Steps[0];
        // 30 mg rms over 15 Hz: 0.0009 g² / 15 Hz.
        Assert.That(((RandomVibration)step.Signal).Density, Is.EqualTo(new[] { new DensityPoint(5, 0.00006), new DensityPoint(20, 0.00006) }).Using<DensityPoint>((a, b) => a.Hz == b.Hz && Math.Abs(a.G2PerHz - b.G2PerHz) < 1e-15));
    }
}
