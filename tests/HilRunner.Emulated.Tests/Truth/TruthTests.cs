using System.Globalization;
using HilRunner.Emulated.Tests.Bench;

namespace HilRunner.Emulated.Tests.Truth;

/// <summary>
/// The stated decision latency and its interval against the truth, on firmware that decides late, behind links that delay unevenly
/// and lose, with clocks that are off, run fast or slow, and start again.
/// </summary>
public sealed class TruthTests
{
    private const int AtOnce = 4;

    private static readonly TruthCase[] s_table =
    [
        new("as it is"),
        new("thinks 20 ms") { ThinkMs = 20, Trial = 20 },
        new("thinks 250 ms") { ThinkMs = 250, Trial = 70 },
        new("10 ms each way") { TowardMs = (10, 10), BackMs = (10, 10), Trial = 20 },
        new("0 ms toward, 30 ms back") { BackMs = (30, 30) },
        new("30 ms toward, 0 ms back") { TowardMs = (30, 30), Trial = 24 },
        new("0 to 30 ms each way, thinks 20 ms") { TowardMs = (0, 30), BackMs = (0, 30), ThinkMs = 20, Trial = 28 },
        new("clock 1 h ahead") { OffsetS = 3600, BackMs = (0, 10) },
        // 2^32 µs less 1 h: with 32 bits that is an hour behind.
        new("clock 1 h behind") { OffsetS = 695, TowardMs = (0, 5) },
        new("clock wraps in mid-run") { OffsetS = 4283 },
        new("clock 200 ppm fast") { SkewPpm = 200 },
        new("clock 200 ppm slow, 0 to 10 ms each way") { SkewPpm = -200, TowardMs = (0, 10), BackMs = (0, 10) },
        new("reset in mid-run") { Reset = true },
        new("half of the clock answers lost") { Lost = 0.5, BackMs = (0, 5) },
    ];

    [Test]
    public void The_true_latency_lies_in_the_stated_interval()
    {
        int seed = Environment.TickCount;
        TestContext.Out.WriteLine($"seed {seed}");
        foreach (var row in s_table) { Images.Get(row.Image); }
        var runs = new TruthRun[s_table.Length];
        Parallel.For(0, s_table.Length, new ParallelOptions { MaxDegreeOfParallelism = AtOnce }, i => runs[i] = new TruthBench(s_table[i], seed + i).Run());

        foreach (var run in runs) { TestContext.Out.WriteLine(Line(run)); }
        int all = runs.Sum(r => r.Trials.Count), covered = runs.Sum(Covered);
        double chance = Binomial.AtMost(covered, all, 0.99);
        TestContext.Out.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{covered} of {all} covered, p = {chance:0.0000}; by the wall {runs.Sum(CoveredByWall)}"));
        Assert.Multiple(() =>
        {
            Assert.That(all, Is.GreaterThanOrEqualTo(2000));
            Assert.That(chance, Is.GreaterThan(0.001), $"seed {seed}: {covered} of {all} true latencies lie in their interval");
            foreach (var run in runs)
            {
                Assert.That(run.Trials, Has.Count.GreaterThan(20), run.Row.Name);
                Assert.That(MedianWidthNs(run), Is.LessThanOrEqualTo(run.WidestNs), $"{run.Row.Name}: too wide");
                Assert.That(run.Reference.HalfWidthsNs, Has.All.InRange(-50_000, 150_000), $"{run.Row.Name}: the reference itself, ns");
                Holds(run, run.Row.SkewPpm);
            }
            Assert.That(Ppm("as it is"), Is.Not.Null);
            Assert.That(Ppm("clock 200 ppm fast"), Is.Not.Null);
            Assert.That(Run("reset in mid-run").Evidence.Device.Resets, Is.EqualTo(1));
            Assert.That(Run("half of the clock answers lost").Evidence.Timing.Unanswered, Is.GreaterThan(5));
        });

        TruthRun Run(string name) => runs.Single(r => r.Row.Name == name);
        double? Ppm(string name) => Run(name).Evidence.Device.ClockPpm;
    }

    [Test]
    public void A_stalled_emulator_changes_nothing_of_its_clock()
    {
        int seed = Environment.TickCount;
        var run = new TruthBench(new("stalled for 500 ms") { Seconds = 14 }, seed).Run(d => d.Stall(TimeSpan.FromMilliseconds(500)));
        TestContext.Out.WriteLine($"seed {seed}\n{Line(run)}");
        Assert.Multiple(() =>
        {
            Assert.That(run.Evidence.Device.ClockPpm, Is.Not.Null);
            Holds(run, 0);
            Assert.That(run.Evidence.Device.Resets, Is.Zero);
            Assert.That(Binomial.AtMost(Covered(run), run.Trials.Count, 0.99), Is.GreaterThan(0.001));
            Assert.That(run.Trials.Max(t => t.TrueNs), Is.GreaterThan(200e6), "the stall held decisions up");
        });
    }

    [Test]
    public void A_clock_that_stood_still_is_told_as_uneven()
    {
        int seed = Environment.TickCount;
        var run = new TruthBench(new("stopped for 500 ms") { Seconds = 10 }, seed).Run(device =>
        {
            device.Control.Execute("stop");
            using (var never = new ManualResetEventSlim()) { never.Wait(500); }
            device.Control.Execute("cont");
        });
        TestContext.Out.WriteLine($"seed {seed}\n{Line(run)}");
        // A line through a step of 500 ms misses it by 250 ms at best on one side.
        Assert.That(run.Evidence.Timing.UnevenNs, Is.InRange(80e6, 600e6));
    }

    private static void Holds(TruthRun run, double truePpm)
    {
        if (run.Evidence.Device is { ClockPpm: { } ppm, ClockPpmUncertainty: { } half })
        {
            Assert.That(Math.Abs(ppm - truePpm), Is.LessThanOrEqualTo(half), $"{run.Row.Name}: {ppm:0.00} ± {half:0.00} ppm holds {truePpm}");
        }
    }

    private static int Covered(TruthRun run) => run.Trials.Count(t => Math.Abs(t.StatedNs - t.TrueNs) <= t.HalfWidthNs);

    private static int CoveredByWall(TruthRun run) => run.Trials.Count(t => Math.Abs(t.StatedNs - t.PlayedNs) <= t.HalfWidthNs);

    private static double MedianWidthNs(TruthRun run) => 2.0 * run.Trials.Select(t => t.HalfWidthNs).Order().ElementAt(run.Trials.Count / 2);

    private static string Line(TruthRun run)
    {
        double error = run.Trials.Select(t => Math.Abs(t.StatedNs - t.TrueNs)).Order().ElementAt(run.Trials.Count * 99 / 100);
        double reference = run.Reference.HalfWidthsNs.DefaultIfEmpty(double.NaN).Max();
        var (timing, device) = (run.Evidence.Timing, run.Evidence.Device);
        return string.Create(CultureInfo.InvariantCulture,
            $"{run.Row.Name,-36} {Covered(run),4}/{run.Trials.Count,-4} wall {CoveredByWall(run),4}; true {run.Trials.Average(t => t.TrueNs) / 1e6,6:0.0} ms; "
            + $"error p99 {error / 1e6:0.000}, width {MedianWidthNs(run) / 1e6:0.00} of {run.WidestNs / 1e6:0.00} ms; round trip {timing.LeastDelayNs / 1e6:0.00} ms; "
            + $"clock {device.ClockPpm:0.00} ± {device.ClockPpmUncertainty:0.00} ppm; uneven {timing.UnevenNs / 1e6:0.00} ms; exchanges {timing.Exchanges}, {timing.Unanswered} lost; reference ±{reference / 1e3:0} µs of {run.Reference.Exchanges}; late {run.Evidence.Health.LateMaxNs / 1e6:0.0} ms");
    }
}
