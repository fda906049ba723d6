using HilRunner.Scoring;
using HilRunner.Scoring.Sweeping;

namespace HilRunner.Reporting;

/// <summary>What is swept, in the unit in which its figures are told.</summary>
public sealed record SweptAxis(string Key, string Title, string Unit, decimal From, decimal To, decimal By);

/// <summary>What has several values.</summary>
public sealed record AcrossAxis(string Key, string Title, string Unit);

/// <summary>One loop as it was played.</summary>
/// <param name="Run">Its folder, from the sweep's on.</param>
/// <param name="Spoiled">Why it says nothing of the device; null: it does.</param>
public sealed record SweepRun(int Loop, decimal? Across, string Run, string? Spoiled);

/// <summary>A sweep, from its plan to its verdict. All levels are in the axis' unit.</summary>
public sealed record Sweep
{
    public const int CurrentSchema = 1;

    public int Schema { get; init; } = CurrentSchema;
    public required string Name { get; init; }
    public required DateTimeOffset Begun { get; init; }
    /// <summary>Null: under way, or cut off.</summary>
    public DateTimeOffset? Ended { get; init; }
    public required string ToolVersion { get; init; }
    public required string Rig { get; init; }
    public required string Output { get; init; }
    public required string Build { get; init; }
    public string? ImageSha256 { get; init; }
    public required string PlanSha256 { get; init; }
    /// <summary>What moves: "a tone of 16 Hz along z".</summary>
    public required string Motion { get; init; }
    public required SweptAxis Along { get; init; }
    public AcrossAxis? Across { get; init; }
    public double DwellS { get; init; }
    /// <summary>The device rode on a table; false: samples were injected.</summary>
    public bool OnTable { get; init; }
    /// <summary>How long a step from end to end took; null: the plan gives the dwell.</summary>
    public double? SlowestStepS { get; init; }
    public required int Repeats { get; init; }
    public required ulong Seed { get; init; }
    public required double Confidence { get; init; }
    public required int Loops { get; init; }
    public IReadOnlyList<SweepRun> Runs { get; init; } = [];
    public IReadOnlyList<SweepPoint> Points { get; init; } = [];
    public IReadOnlyList<SweepLimitOutcome> Limits { get; init; } = [];
    public Verdict Verdict { get; init; } = Verdict.None;
    public IReadOnlyList<string> Reasons { get; init; } = [];
    public IReadOnlyList<string> Notes { get; init; } = [];

    /// <summary>Decimals of figures: a tenth of a step, or a little finer.</summary>
    public int Digits => Math.Max(0, 1 - (int)Math.Floor(Math.Log10((double)Along.By)));
}
