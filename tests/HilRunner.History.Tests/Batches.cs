using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Scoring;

namespace HilRunner.History.Tests;

/// <summary>Batches as the scorer would leave them.</summary>
internal static class Batches
{
    public static readonly DateTimeOffset Night = new(2026, 11, 26, 2, 0, 0, TimeSpan.Zero);

    public static RecordedBatch Batch(int night, Verdict? verdict = Verdict.Pass, string? label = null, string? image = null, string name = "nightly", params RecordedRun[] runs) => new()
    {
        Name = name,
        Started = Night.AddDays(night),
        Ended = verdict is null ? null : Night.AddDays(night).AddMinutes(10),
        Verdict = verdict,
        Reason = verdict is null ? "" : $"reason of night {night}",
        Planned = Math.Max(1, runs.Length),
        Host = "bench",
        ToolVersion = "0.1.0",
        Folder = $"/runs/{name}-{night}",
        Build = new(label, image is null ? null : "firmware.bin", image),
        Runs = runs,
    };

    /// <param name="recognised">Of trials of 10 s each; class a and b in turn.</param>
    public static RecordedRun Run(bool[] recognised, string scenario = "s",
        int repeat = 1, bool counts = true, long reactionNs = 500_000_000, Delivery? delivery = null) => new()
    {
        Id = $"{scenario}-{repeat}",
        Scenario = scenario,
        Motion = "motion of " + scenario,
        Repeat = repeat,
        Seed = ulong.MaxValue,
        Rig = "bench-1",
        Speed = "max",
        Started = Night,
        Ended = Night.AddMinutes(1),
        Counts = counts,
        Score = Score(recognised, reactionNs) with { Delivery = delivery },
    };

    /// <summary>Scored by the scorer: at each onset the device falls back to a class that nobody asked for, and leaves it for what it recognises.</summary>
    private static Score Score(bool[] recognised, long reactionNs)
    {
        const long length = 10_000_000_000;
        var reference = recognised.Select((_, i) => new ReferenceInterval(new(i * length), new((i + 1) * length), i % 2 == 0 ? "a" : "b", i + 1)).ToList();
        var decisions = recognised.SelectMany((r, i) => new Decision?[]
        {
            new(new StimulusTime(i * length), "x", "main"), r ? new(new StimulusTime(i * length + reactionNs), i % 2 == 0 ? "a" : "b", "main") : null,
        }).OfType<Decision>().ToList();
        return Scorer.Score(new ScoreInput
        {
            Reference = reference,
            Decisions = decisions,
            Outputs = ["main"],
            End = new(recognised.Length * length),
            Rules = new(),
            Health = new(),
            Device = new(0, 0, null),
        });
    }
}
