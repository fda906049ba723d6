using System.Globalization;
using HilRunner.Core.Models;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals;
using HilRunner.Core.Statistics;
using HilRunner.Core.Sweeps;
using HilRunner.Core.Time;
using HilRunner.Scoring.Sweeping;

namespace HilRunner.Scoring.Tests.Sweeping;

/// <summary>
/// The virtual device's classifier with thresholds and hysteresis drawn by a seed, swept a hundred times: intervals hold the truth, are as
/// wide as step and repeats require, and a device without hysteresis is not given any.
/// </summary>
public class KnownDeviceTests
{
    private const int Seeds = 100, Repeats = 5;
    private static readonly SampleRate s_rate = new(100_000);
    private static readonly InputSpec s_input = new(s_rate, [new("ax", 0.001, 8), new("ay", 0.001, 8), new("az", 0.001, 8)]);
    private IReadOnlyList<Case> _cases = null!;

    /// <param name="UpMg">Truth: found by bisection on the classifier alone, without any of the sweep's code.</param>
    private sealed record Case(int Seed, double StepMg, double UpMg, double DownMg, Switch Found)
    {
        public bool HasHysteresis => UpMg - DownMg > 1e-9;
    }

    [OneTimeSetUp]
    public void SweepThem() => _cases = [.. Enumerable.Range(1, Seeds).AsParallel().Select(Swept).OrderBy(c => c.Seed)];

    [Test]
    public void Intervals_hold_the_truth()
    {
        int up = _cases.Count(c => Holds(c.Found.Up, c.UpMg)), down = _cases.Count(c => Holds(c.Found.Down, c.DownMg)), width = _cases.Count(c => Holds(c.Found.Width, c.UpMg - c.DownMg));
        TestContext.Out.WriteLine($"of {Seeds}: up {up}, down {down}, width {width}");
        Assert.That(new[] { up, down, width }, Has.All.GreaterThanOrEqualTo(90));

        static bool Holds(MeanInterval? found, double truth) => found is { } f && f.Interval.Low <= truth && truth <= f.Interval.High;
    }

    /// <summary>
    /// What step and repeats require: Student's interval of n values that are uniform over a step s, and so have the deviation s/√12; the
    /// difference of two such has s/√6.
    /// </summary>
    [Test]
    public void Intervals_are_as_wide_as_step_and_repeats_require()
    {
        double[] Ratios(Func<Switch, MeanInterval?> figure, double variances) => [.. _cases.Select(c => Width(figure(c.Found)!.Value.Interval) / (2 * MeanInterval.HalfWidth(c.StepMg / Math.Sqrt(variances), Repeats, 0.95)))];
        foreach (var (name, ratios) in new[] { ("up", Ratios(s => s.Up, 12)), ("down", Ratios(s => s.Down, 12)), ("width", Ratios(s => s.Width, 6)) })
        {
            TestContext.Out.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{name}: {ratios.Min():0.00} to {ratios.Max():0.00} of what is required, median {ratios.Order().ElementAt(Seeds / 2):0.00}"));
            Assert.That(ratios, Has.All.LessThanOrEqualTo(2));
            Assert.That(ratios.Average(), Is.InRange(0.8, 1.25), "nor narrower than they can be");
        }

        static double Width(Interval i) => i.High - i.Low;
    }

    [Test]
    public void Hysteresis_is_shown_where_it_is_and_only_there()
    {
        var without = _cases.Where(c => !c.HasHysteresis).ToList();
        int given = without.Count(c => c.Found.HasHysteresis), wide = _cases.Count(c => c.UpMg - c.DownMg > 2 * c.StepMg), found = _cases.Count(c => c.UpMg - c.DownMg > 2 * c.StepMg && c.Found.HasHysteresis);
        TestContext.Out.WriteLine($"{given} of {without.Count} devices without hysteresis were given one; {found} of {wide} with more than two steps of it were seen to have it");
        Assert.That(without, Has.Count.GreaterThan(20));
        Assert.That(given, Is.Zero);
        Assert.That(wide, Is.GreaterThan(10));
        Assert.That(found, Is.EqualTo(wide));
    }

    private static Case Swept(int seed)
    {
        var random = new Random(seed);
        int below = random.Next(40, 200), hysteresis = seed % 3 == 0 ? 0 : random.Next(1, below / 2), stepMg = random.Next(4, 21);
        int hz = random.Next(5, 21), confirm = random.Next(1, 4);
        var model = MotionModel.Parse(string.Create(CultureInfo.InvariantCulture, $$"""
            model: known
            classes: [still, shaken]
            input: {rate: 100 Hz, channels: {ax: 1 mg, ay: 1 mg, az: 1 mg} }
            window: 1 s
            hop: 250 ms
            tree: {feature: deviation(az), below: {{below}}, hysteresis: {{hysteresis}}, then: {class: still}, else: {class: shaken} }
            confirm: {still: {{confirm}}, shaken: {{confirm}} }
            """), "known.yaml");
        // The threshold of a tone lies near √2 times that of its deviation: well inside the range.
        double about = below * Math.Sqrt(2);
        int from = (int)Math.Max(0, about / 2 - 3 * stepMg), levels = (int)Math.Ceiling((about * 1.3 + 3 * stepMg - from) / stepMg);
        var plan = SweepPlanFile.Parse(string.Create(CultureInfo.InvariantCulture, $$"""
            sweep: known
            motion: {tone: {{hz}} Hz, peak: {{from}} mg to {{from + levels * stepMg}} mg by {{stepMg}} mg, axis: z}
            dwell: 4 s
            repeats: {{Repeats}}
            seed: {{seed}}
            """), "known-plan.yaml");
        var all = Staircase.Of(plan).SelectMany(loop =>
            SettledClass.Of(loop.Number, Decide(model, Staircase.Scenario(plan, "loop", null, loop.Levels.Select(l => l.Level), plan.Dwell!.Value)), loop.Levels.Select(l => (l.Rising, l.Level * 1000)), 4_000_000_000)).ToList();
        var found = SwitchFinder.Find(all, stepMg, 0.95);
        Assert.That(found, Has.Count.EqualTo(1), $"seed {seed}");
        bool Shaken(double before, double level) =>
            Decide(model, Staircase.Scenario(plan, "truth", null, [(decimal)before, (decimal)level], TimeSpan.FromSeconds(6)))[^1].Class == "shaken";
        double up = Bisect(peak => Shaken(0.001, peak), 0.001, 2 * about / 1000) * 1000;
        double down = hysteresis == 0 ? up : Bisect(peak => Shaken(2 * about / 1000, peak), 0.001, 2 * about / 1000) * 1000;
        return new(seed, stepMg, up, down, found[0]);
    }

    private static double Bisect(Func<double, bool> isAbove, double low, double high)
    {
        while (high - low > 1e-5)
        {
            double middle = Math.Round((low + high) / 2, 7);
            if (isAbove(middle)) { high = middle; } else { low = middle; }
        }
        return (low + high) / 2;
    }

    private static List<Decision> Decide(MotionModel model, string scenario)
    {
        var stimulus = StimulusBuilder.Build(ScenarioFile.Parse(scenario, "loop.yaml"), ".", s_input, 1);
        var runner = new ModelRunner(model);
        var decisions = new List<Decision>();
        int[] sample = new int[3];
        for (int n = 0; n < stimulus.SampleCount; n++)
        {
            for (int c = 0; c < sample.Length; c++) { sample[c] = stimulus.Counts[c][n]; }
            if (runner.Push(n, sample, out var decision)) { decisions.Add(new(stimulus.Rate.TimeOf(n), decision.Class)); }
        }
        return decisions;
    }
}
