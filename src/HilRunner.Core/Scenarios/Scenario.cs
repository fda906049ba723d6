using HilRunner.Core.Recordings;
using HilRunner.Core.Scenarios.Varying;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Signals.Transforms;
using HilRunner.Core.Time;

namespace HilRunner.Core.Scenarios;

/// <summary>A stimulus, the reference timeline that comes with it, and the limits.</summary>
public sealed record Scenario
{
    public required string Name { get; init; }
    public required IReadOnlyList<StimulusStep> Steps { get; init; }
    /// <summary>Label → device class; labels that are not listed keep their name.</summary>
    public IReadOnlyDictionary<string, string> Classes { get; init; } = new Dictionary<string, string>();
    public ScoringRules Rules { get; init; } = new();
    /// <summary>Unscored run-in before the first sample.</summary>
    public TimeSpan Lead { get; init; }
    /// <summary>Each is a run of its own, in place of the scenario as it stands. Empty: played as it stands.</summary>
    public IReadOnlyList<Variation> Variations { get; init; } = [];
}

/// <summary>What the scorer needs to know beside the timelines.</summary>
public sealed record ScoringRules
{
    /// <summary>Momentary classes.</summary>
    public IReadOnlyList<string> Events { get; init; } = [];
    /// <summary>Device classes (after mapping) whose reference time is never right or wrong.</summary>
    public IReadOnlyList<string> Unscored { get; init; } = [];
    public long GraceNs { get; init; }
    /// <summary>Recognised only when the reaction is within this; required where there are events.</summary>
    public long? WithinNs { get; init; }
    /// <summary>How much before its start an event may be reported and is a hit all the same, with a reaction of 0.</summary>
    public long EarlyNs { get; init; }
    /// <summary>How long a class must hold without a break before a state counts as recognised; 0: an instant will do.</summary>
    public long HoldNs { get; init; }
    public IReadOnlyList<Limit> Limits { get; init; } = [];
    /// <summary>From the rig; per run, not per scenario.</summary>
    public long? StaleAfterNs { get; init; }
}

public enum Measure
{
    Accuracy, BalancedAccuracy, Recall, Precision, F1, Recognised, Missed, Reaction, Settling, ReportLatency, Dropouts,
    ChatterPerMinute, SurplusPerMinute, ShortestDwell, Insertions, Deletions, Fragmented, Merged, FalseAlarmsPerHour,
    DeviceResets, DeviceSilences, DeviceClockPpm,
}

public enum Statistic { P50, P90, P95, P99, Max, Mean }

/// <summary>One limit. Exactly one of AtMost and AtLeast; shares as 0 to 1, times in seconds, rates per minute or hour, clock rates in ppm.</summary>
public sealed record Limit(Measure Measure)
{
    public string? Class { get; init; }
    public Statistic? Statistic { get; init; }
    public double? AtMost { get; init; }
    public double? AtLeast { get; init; }
    /// <summary>0 to 1, exclusive. Such a limit is judged over a suite's pooled trials, not per run.</summary>
    public double? Confidence { get; init; }
    public string? Output { get; init; }
}

public abstract record StimulusStep;

/// <summary>Part of a recording, transformed; src/HilRunner.Core/Signals/README.md says in what order.</summary>
public sealed record PlayStep(string Path) : StimulusStep
{
    public StimulusTime? From { get; init; }
    public StimulusTime? To { get; init; }
    /// <summary>Rotations in the order of the file: axis x, y or z, right-handed, degrees.</summary>
    public IReadOnlyList<Rotation> Rotate { get; init; } = [];
    /// <summary>Axes x, y, z along which the motion is mirrored, before it is rotated.</summary>
    public IReadOnlyList<char> Mirror { get; init; } = [];
    /// <summary>Factor on all channels.</summary>
    public double Scale { get; init; } = 1;
    /// <summary>Channel → a factor on top of <see cref="Scale"/>.</summary>
    public IReadOnlyDictionary<string, double> ChannelScales { get; init; } = new Dictionary<string, double>();
    /// <summary>Channel → what is added, in g or °/s.</summary>
    public IReadOnlyDictionary<string, double> Offsets { get; init; } = new Dictionary<string, double>();
    /// <summary>Thousandths of the part's length that it lasts when played, 500 to 2000.</summary>
    public int StretchPermille { get; init; } = 1000;
    public Mix? Mix { get; init; }
    public Filter? Filter { get; init; }
    /// <summary>Standard deviation of added white noise on acceleration, in g. Seeded by the run's seed and the step's place.</summary>
    public double NoiseG { get; init; }
    public Dropouts? Dropouts { get; init; }
    public ForeignFormat? Format { get; init; }
}

/// <summary>A made signal on top of rest.</summary>
/// <param name="Class">Empty: unlabelled.</param>
public sealed record SynthStep(TimeSpan For, string Class, SynthSignal Signal) : StimulusStep
{
    /// <summary>The direction that points upwards, where rest reads +1 g.</summary>
    public Direction Up { get; init; } = new('z');
}

/// <summary>Moved by hand: nothing is injected.</summary>
public sealed record PromptStep(string Say, TimeSpan For, string Class) : StimulusStep;

/// <summary>Scenarios × repeats, in an order.</summary>
public sealed record Suite
{
    public required string Name { get; init; }
    /// <summary>Files in the order listed, the matches of one glob sorted ordinally, each once; paths relative to the working directory or absolute.</summary>
    public required IReadOnlyList<string> Scenarios { get; init; }
    public int Repeats { get; init; } = 1;
    public SuiteOrder Order { get; init; }
    public ulong Seed { get; init; } = 1;
    /// <summary>In place of what its scenarios say of <see cref="ScoringRules.HoldNs"/>; null: each its own.</summary>
    public long? HoldNs { get; init; }
    /// <summary>Limits with confidence, judged once over the pooled trials.</summary>
    public IReadOnlyList<Limit> Limits { get; init; } = [];
    public CompareTolerances Compare { get; init; } = new();
}

/// <summary>Shifts of latency between builds that are nobody's business, in seconds.</summary>
public sealed record CompareTolerances(double ReactionS = 0, double ReportLatencyS = 0)
{
    /// <summary>A shift to earlier is worse too: builds that are not meant to decide otherwise.</summary>
    public bool EarlierIsWorse { get; init; }
}

public enum SuiteOrder { AsListed, Shuffled }
