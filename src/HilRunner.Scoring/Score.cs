using HilRunner.Core.Scenarios;

namespace HilRunner.Scoring;

/// <summary>ETSI ES 201 873-1 verdicts; <see cref="Error"/> is the tool's own and overrides all. Ordered by severity.</summary>
public enum Verdict { None, Pass, Inconc, Fail, Error }

/// <summary>What a run was worth: one <see cref="OutputScore"/> for each output of the device, and the verdict over all.</summary>
public sealed record Score
{
    public required Verdict Verdict { get; init; }
    /// <summary>Sentences a colleague would say, the deciding one first.</summary>
    public required IReadOnlyList<string> Reasons { get; init; }
    public required IReadOnlyList<OutputScore> Outputs { get; init; }
    /// <summary>All limits in the order of the scenario, the two default ones (device resets, silences) last.</summary>
    public required IReadOnlyList<LimitOutcome> Limits { get; init; }
    public required Core.Runs.RigHealth Health { get; init; }
    public required Core.Runs.DeviceHealth Device { get; init; }
    /// <summary>How the times of the run are known; null for a log that no run stands behind.</summary>
    public Core.Runs.RunTiming? Timing { get; init; }
    /// <summary>
    /// Whether everything arrived, both ways; null for a log that no run stands behind, and in scores of schema 1.
    /// </summary>
    public Core.Runs.Delivery? Delivery { get; init; }
    /// <summary>
    /// What stands beside the verdict, pass and fail alike: sentences on delivery that was not shown, messages that were not
    /// understood, classes that no map holds.
    /// </summary>
    public IReadOnlyList<string> Notes { get; init; } = [];
    /// <summary>Whether report times are known, so that report latencies can be.</summary>
    public bool ReportTimesKnown { get; init; }
    /// <summary>The schema of the file that it was read from: 1 stands for earlier definitions.</summary>
    public int Schema { get; init; } = ScoreJson.Schema;
}

public sealed record OutputScore
{
    public required string Output { get; init; }
    public required Agreement Strict { get; init; }
    public required Agreement Graced { get; init; }
    /// <summary>Ordered by start, then class.</summary>
    public required IReadOnlyList<TrialScore> Trials { get; init; }
    /// <summary>By class, ordinally; likewise below.</summary>
    public required IReadOnlyDictionary<string, LatencySummary> Reaction { get; init; }
    public required IReadOnlyDictionary<string, LatencySummary> Settling { get; init; }
    public required IReadOnlyDictionary<string, LatencySummary> Report { get; init; }
    public required IReadOnlyDictionary<string, EventScore> Events { get; init; }
    public required ChangeScore Changes { get; init; }
    public required IReadOnlyDictionary<string, SegmentScore> Segments { get; init; }
}

/// <summary>Time-weighted agreement of states. Undefined figures (denominator 0) are null.</summary>
public sealed record Agreement
{
    public required long ScoredNs { get; init; }
    /// <summary>[reference class][observed class or "(none)"] → ns; only durations above 0.</summary>
    public required IReadOnlyDictionary<string, IReadOnlyDictionary<string, long>> ConfusionNs { get; init; }
    public double? Accuracy { get; init; }
    public double? BalancedAccuracy { get; init; }
    public double? Kappa { get; init; }
    public double? Mcc { get; init; }
    public required IReadOnlyDictionary<string, ClassAgreement> PerClass { get; init; }
}

public sealed record ClassAgreement(double? Recall, double? Precision, double? F1);

public sealed record TrialScore
{
    public required string Class { get; init; }
    public required long StartNs { get; init; }
    public required long EndNs { get; init; }
    public bool IsEvent { get; init; }
    public required bool Already { get; init; }
    public required bool Missed { get; init; }
    public required bool Recognised { get; init; }
    public required bool Counted { get; init; }
    public long? ReactionNs { get; init; }
    public long? SettlingNs { get; init; }
    public int? Dropouts { get; init; }
    public int? Chatter { get; init; }
    public long? ReportLatencyNs { get; init; }
    /// <summary>
    /// Of reaction and settling, in stimulus time: the half-width of the decision that ended each, the larger of the two. Null
    /// where no decision ended one, or where a half-width is not known.
    /// </summary>
    public long? UncertaintyNs { get; init; }
    /// <summary>
    /// Whether the class held for as long as the scenario asks is not known: the times of its decisions are not known well
    /// enough.
    /// </summary>
    public bool HoldOpen { get; init; }
    /// <summary>Of the report latency, in host time; null where it is not known, or there is no report latency.</summary>
    public long? ReportUncertaintyNs { get; init; }
}

/// <summary>Seconds; statistics are Hyndman–Fan type 7; a missed trial is +∞, written null; n counts the trials in the statistic.</summary>
public sealed record LatencySummary(int N, int Missed, int Already, double? P50, double? P90, double? P95, double? P99, double? Max, double? Mean)
{
    /// <summary>
    /// The largest half-width among its trials: the true value of each finite statistic lies this near, since none moves farther than the
    /// latency that moves most. Null where a trial's is not known, or no trial was reached.
    /// </summary>
    public long? UncertaintyNs { get; init; }
}

public sealed record EventScore(int Hits, int Misses, int FalseAlarms, double? FalseAlarmsPerHour)
{
    /// <summary>
    /// When the false alarms were decided, in stimulus time; null: the score was written before such times were kept.
    /// </summary>
    public IReadOnlyList<long>? AlarmsAtNs { get; init; }

    public bool Equals(EventScore? other) => other is not null
        && (Hits, Misses, FalseAlarms, FalseAlarmsPerHour) == (other.Hits, other.Misses, other.FalseAlarms,
            other.FalseAlarmsPerHour)
        && (AlarmsAtNs is null ? other.AlarmsAtNs is null : other.AlarmsAtNs is not null
            && AlarmsAtNs.SequenceEqual(other.AlarmsAtNs));

    public override int GetHashCode() => HashCode.Combine(Hits, Misses, FalseAlarms);
}

public sealed record ChangeScore(int Observed, int Reference, int Surplus, long? ShortestDwellNs, double? MedianDwellS, double? ChatterPerMinute, double? SurplusPerMinute);

public sealed record SegmentScore(ReferenceSegments Reference, ObservedSegments Observed, SegmentTimes TimeNs);

public sealed record ReferenceSegments(int Correct, int Deletion, int Fragmented, int Merged, int FragmentedAndMerged);

public sealed record ObservedSegments(int Correct, int Insertion, int Fragmenting, int Merging, int FragmentingAndMerging);

public sealed record SegmentTimes(long TruePositive, long Insertion, long Merge, long OverfillStart, long OverfillEnd, long Deletion, long Fragmentation, long UnderfillStart, long UnderfillEnd);

public enum Outcome { Held, Broken, Open }

/// <param name="Text">The limit in words, as people and score.json show it: "recognised carried ≥ 0.95".</param>
/// <param name="Figure">Null: not defined, with <paramref name="Why"/>. +∞ is possible for latencies (missed trials).</param>
/// <param name="Why">Why a limit is open, or what broke it ("41 of 46"); empty where there is nothing to add.</param>
public sealed record LimitOutcome(Limit Limit, string Text, double? Figure, double Bound, Outcome Outcome, string Why, string Output);
