using System.Globalization;
using HilRunner.Emulated.Tests.Bench;
using HilRunner.Engine.Clocks;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Truth;

/// <summary>
/// The stated decision latency and its interval against the truth, on firmware that decides late, behind links that delay unevenly
/// and lose, with clocks that are off, run fast or slow, and start again.
/// </summary>
[Timing("latencies are held against the truth, run by run in real time")]
public sealed class TruthTests
{
    private const int AtOnce = 4;
    private static readonly TimeSpan s_pause = TimeSpan.FromMilliseconds(500);

    private static readonly TruthCase[] s_table =
    [
        new("thinks 250 ms") { ThinkMs = 250, Trial = 70 },
        new("as it is"),
        new("thinks 20 ms") { ThinkMs = 20, Trial = 20 },
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
        new("reset in mid-run") { Reset = true, During = d => d.Control.Execute("system_reset") },
        new("half of the clock answers lost") { Lost = 0.5, BackMs = (0, 5) },
        new("stalled for 500 ms") { During = d => d.Stall(s_pause) },
        new("stopped for 500 ms") { During = Stop },
    ];

    private static readonly string[] s_rateIsKnown = ["as it is", "clock 200 ppm fast", "stalled for 500 ms"];

    private readonly int _seed = Environment.TickCount;

    /// <summary>One for each row; and what was played again because the machine held it up: it must be true as well.</summary>
    private TruthRun[] _runs = null!, _held = null!;

    [OneTimeSetUp]
    public void Play()
    {
        foreach (var row in s_table) { Images.Get(row.Image); }
        _runs = new TruthRun[s_table.Length];
        Parallel.For(0, s_table.Length, new ParallelOptions { MaxDegreeOfParallelism = AtOnce }, i => _runs[i] = new TruthBench(s_table[i], _seed + i).Run());
        // Four emulators at once keep a slow machine busy: a row that it held up is played once more, alone. Intervals are to
        // hold the
        // truth either way; how wide they are says something only where the machine had time.
        int[] again = [.. Enumerable.Range(0, s_table.Length).Where(i => WasHeldUp(_runs[i]))];
        _held = [.. again.Select(i => _runs[i])];
        foreach (int i in again) { _runs[i] = new TruthBench(s_table[i], _seed + s_table.Length + i).Run(); }
    }

    private static bool WasHeldUp(TruthRun run) => run.IsHeldUp && run.Row.ThinkMs < 50;

    [Test]
    public void The_true_latency_lies_in_the_stated_interval()
    {
        TestContext.Out.WriteLine($"seed {_seed}");
        TruthRun[] runs = [.. _runs, .. _held];
        foreach (var run in runs) { TestContext.Out.WriteLine(Line(run)); }
        int all = runs.Sum(r => r.Trials.Count), covered = runs.Sum(Covered);
        double chance = Binomial.AtMost(covered, all, 0.99);
        TestContext.Out.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"{covered} of {all} covered, p = {chance:0.0000}; from the onset's sample as played {runs.Sum(CoveredAsPlayed)}; {_held.Length} rows were played again"));
        Assert.Multiple(() =>
        {
            Assert.That(all, Is.GreaterThanOrEqualTo(2000));
            Assert.That(chance, Is.GreaterThan(0.001), $"seed {_seed}: {covered} of {all} true latencies lie in their interval");
            foreach (var run in runs)
            {
                Assert.That(run.Trials, Has.Count.GreaterThan(20), run.Row.Name);
                Assert.That(Binomial.AtMost(Covered(run), run.Trials.Count, 0.99), Is.GreaterThan(1e-6), $"seed {_seed}: {run.Row.Name}: {Covered(run)} of {run.Trials.Count}");
                // Below 0 its own exchanges contradict each other by so much, which is as bad as not knowing it by so much. The
                // smallest
                // half-widths of the tool are a millisecond.
                Assert.That(run.Reference.HalfWidthsNs, Has.All.InRange(-200_000, 200_000),
                    $"{run.Row.Name}: the reference itself, ns");
            }
        });
    }

    [Test]
    public void The_interval_is_no_wider_than_round_trip_and_sample_period_ask_for() => Assert.Multiple(() =>
    {
        foreach (var run in _runs) { Assert.That(MedianWidthNs(run), Is.LessThanOrEqualTo(run.WidestNs), $"seed {_seed}: {run.Row.Name}"); }
        int held = _runs.Count(WasHeldUp);
        Assert.That(held, Is.LessThanOrEqualTo(s_table.Length / 2),
            "rows that the machine held up; with more of them this says too little");
    });

    [Test]
    public void The_true_rate_of_the_clock_lies_in_the_stated_interval() => Assert.Multiple(() =>
    {
        foreach (var run in _runs)
        {
            if (run.Evidence.Device is not { ClockPpm: { } ppm, ClockPpmUncertainty: { } half }) { continue; }
            Assert.That(Math.Abs(ppm - run.Row.SkewPpm), Is.LessThanOrEqualTo(half), $"seed {_seed}: {run.Row.Name}: {ppm:0.00} ± {half:0.00} ppm");
        }
        // Between a quick answer early on and one late the clock's rate is known to their round trips over the time between. On a
        // slow
        // machine that may be more than is called known.
        foreach (string name in s_rateIsKnown.Where(n => Run(n).RateKnownToPpm < 0.8 * ClockMap.KnownPpm))
        {
            Assert.That(Run(name).Evidence.Device.ClockPpm, Is.Not.Null,
                $"seed {_seed}: {name}, known to {Run(name).RateKnownToPpm:0.0} ppm");
        }
        Assert.That(_runs.Count(r => r.Evidence.Device.ClockPpm is not null), Is.Positive);
    });

    [Test]
    public void What_happened_to_the_clock_is_told_and_nothing_else()
    {
        Assert.Multiple(() =>
        {
            foreach (var run in _runs)
            {
                Assert.That(run.Evidence.Device.Resets, Is.EqualTo(run.Row.Reset ? 1 : 0), run.Row.Name);
                Assert.That(run.Evidence.Incidents.Any(i => i.What.Contains("jumped", StringComparison.Ordinal)), Is.EqualTo(run.Row.Name == "stopped for 500 ms"), run.Row.Name);
                Assert.That(run.Evidence.Timing.UnevenNs, Is.LessThan(1_000_000), run.Row.Name);
            }
            Assert.That(Run("reset in mid-run").Evidence.Timing.Epochs, Is.EqualTo(2));
            Assert.That(Run("half of the clock answers lost").Evidence.Timing.Unanswered, Is.GreaterThan(5));
            var decided = Run("stalled for 500 ms").Reference.DecisionNs;
            Assert.That(decided.Zip(decided.Skip(1), (a, b) => b - a).Max(), Is.GreaterThan(450e6), "the stall was one");
        });
    }

    private TruthRun Run(string name) => _runs.Single(r => r.Row.Name == name);

    private static void Stop(Emulator device)
    {
        device.Control.Execute("stop");
        using (var never = new ManualResetEventSlim()) { never.Wait(s_pause); }
        device.Control.Execute("cont");
    }

    private static int Covered(TruthRun run) => run.Trials.Count(t => Math.Abs(t.StatedNs - t.TrueNs) <= t.HalfWidthNs);

    private static int CoveredAsPlayed(TruthRun run) => run.Trials.Count(t => Math.Abs(t.StatedNs - t.PlayedNs) <= t.HalfWidthNs);

    private static double MedianWidthNs(TruthRun run) => 2.0 * run.Trials.Select(t => t.HalfWidthNs).Order().ElementAt(run.Trials.Count / 2);

    private static string Line(TruthRun run)
    {
        double error = run.Trials.Select(t => Math.Abs(t.StatedNs - t.TrueNs)).Order().ElementAt(run.Trials.Count * 99 / 100);
        double reference = run.Reference.HalfWidthsNs.DefaultIfEmpty(double.NaN).Max();
        var (timing, device) = (run.Evidence.Timing, run.Evidence.Device);
        return string.Create(CultureInfo.InvariantCulture,
            $"{run.Row.Name,-36} {Covered(run),4}/{run.Trials.Count,-4} as played {CoveredAsPlayed(run),4}; true {run.Trials.Average(t => t.TrueNs) / 1e6,6:0.0} ms; "
            + $"error p99 {error / 1e6:0.000}, width {MedianWidthNs(run) / 1e6:0.00} of {run.WidestNs / 1e6:0.00} ms; round trip {timing.LeastDelayNs / 1e6:0.00} ms; "
            + $"clock {device.ClockPpm:0.00} ± {device.ClockPpmUncertainty:0.00} ppm; uneven {timing.UnevenNs / 1e6:0.00} ms; exchanges {timing.Exchanges}, {timing.Unanswered} lost; reference ±{reference / 1e3:0} µs of {run.Reference.Exchanges}; late {run.Evidence.Health.LateMaxNs / 1e6:0.0} ms; rate by two answers ±{run.RateKnownToPpm:0.0} ppm");
    }
}
