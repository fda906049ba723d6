using HilRunner.Core.Scenarios;
using HilRunner.Scoring;
using HilRunner.Scoring.Pooling;

namespace HilRunner.Reporting.Tests;

/// <summary>Made-up suites of the parcel tag: three repeats of each scenario, a few of them failing, one played again.</summary>
internal static class InventedSuite
{
    private static readonly DateTimeOffset Start = new(2026, 11, 25, 2, 0, 0, TimeSpan.Zero);

    public static SuiteResult Of(int runs, Verdict verdict = Verdict.Fail) => new()
    {
        Name = "nightly",
        Verdict = verdict,
        Reasons = verdict == Verdict.Pass ? ["every run passed"] : ["conveyor 2: conveyed recognised in 41 of 46, needs 45"],
        Runs = [.. Enumerable.Range(0, runs).Select(Run)],
        Started = Start,
        Ended = Start.AddSeconds(130 * runs),
        Host = "bench-pc",
        ToolVersion = "0.1.0",
        Build = new("nightly 214", "tag-214.bin", new('e', 64)),
        PooledLimits = runs == 0 ? [] : [new(new(new(Measure.Recognised) { Class = "conveyed", AtLeast = 0.95, Confidence = 0.9 }, "recognised conveyed ≥ 0.95 at 90 % confidence", 41.0 / 46, 0.95, Outcome.Open, "41 of 46 independent trials recognised: shows at least 0.803 at 90 %", "")) { Units = 46, UnitsRecognised = 41, Plays = 138, PlaysRecognised = 124, Sources = 46, Shown = 0.803 }],
    };

    /// <summary>A grid of turns and sensitivities; lost where the turn is large, earlier where the sensitivity is small.</summary>
    public static SuiteResult Varied(int turns, int factors) => Of(0, Verdict.Fail) with
    {
        Runs = [.. Enumerable.Range(0, turns).SelectMany(t => Enumerable.Range(0, factors).Select(f => SuitePage.VariedSuiteTests.Run(
            factors == 1 ? [("rotate.x", 7.5m * t)] : [("rotate.x", 7.5m * t), ("scale", 0.7m + 0.1m * f)], t < 3 + f || turns < 4)))],
    };

    private static PlayedTrial Play(int i, string name, int start, bool recognised) => new("", new(FormattableString.Invariant($"{i / 3:x64}"), start, start + 10, null), new()
    {
        Class = name, StartNs = start * 1_000_000_000L, EndNs = (start + 10) * 1_000_000_000L, Already = false, Missed = !recognised, Recognised = recognised, Counted = true,
    }, null);

    private static SuiteRun Run(int i)
    {
        Verdict verdict = i % 17 == 4 ? Verdict.Fail : i % 23 == 5 ? Verdict.Inconc : Verdict.Pass;
        return new()
        {
            Scenario = FormattableString.Invariant($"conveyor {i / 3}"),
            Repeat = i % 3 + 1,
            Verdict = verdict,
            Reasons = verdict switch { Verdict.Fail => ["conveyed recognised in 3 of 4, needs 4"], Verdict.Inconc => ["12 samples went out more than 5 ms late"], _ => [] },
            Report = FormattableString.Invariant($"run-{i}/report.html"),
            Limits = [new(new(Measure.Recognised) { Class = "conveyed", AtLeast = 0.95 }, "recognised conveyed ≥ 0.95", verdict == Verdict.Fail ? 0.75 : 1, 0.95, verdict == Verdict.Fail ? Outcome.Broken : Outcome.Held, "", "")],
            Trials = [new("", "conveyed", 0, true, verdict != Verdict.Fail), new("", "resting", 10_000_000_000, true, true), new("", "carried", 20_000_000_000, true, true)],
            Played = [Play(i, "conveyed", 0, verdict != Verdict.Fail), Play(i, "resting", 10, true), Play(i, "carried", 20, true)],
            Delivery = i % 3 == 1 ? Core.Runs.DeliveryOutcome.NotShown : Core.Runs.DeliveryOutcome.Delivered,
            Notes = i % 3 == 1
                ? ["delivery not shown: nothing proves that all the device's messages reached the host; add “says.counters” to the rig file"] : [],
            RigFault = verdict == Verdict.Inconc,
            PlayedAgain = i == 5,
            Started = Start.AddSeconds(130 * i),
            Ended = Start.AddSeconds(130 * i + 124),
        };
    }
}
