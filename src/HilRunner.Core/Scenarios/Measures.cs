namespace HilRunner.Core.Scenarios;

/// <summary>What the bound of a measure is.</summary>
internal enum BoundKind { Share, Duration, Count, Rate, Skew }

/// <summary>Whether a measure may be limited for one class, and of which kind that class is.</summary>
internal enum ClassUse { None, Any, State, Event }

/// <param name="Word">As written in files.</param>
/// <param name="TakesStatistic">A latency: many values, so that a limit says which statistic of them.</param>
internal sealed record MeasureInfo(string Word, Measure Measure, BoundKind Bound, ClassUse Class, bool TakesStatistic = false);

/// <summary>The measures that a limit can name; their definitions stand with the scorer.</summary>
internal static class Measures
{
    public static IReadOnlyList<MeasureInfo> All { get; } =
    [
        new("accuracy", Measure.Accuracy, BoundKind.Share, ClassUse.None),
        new("balanced_accuracy", Measure.BalancedAccuracy, BoundKind.Share, ClassUse.None),
        new("recall", Measure.Recall, BoundKind.Share, ClassUse.State),
        new("precision", Measure.Precision, BoundKind.Share, ClassUse.State),
        new("f1", Measure.F1, BoundKind.Share, ClassUse.State),
        new("recognised", Measure.Recognised, BoundKind.Share, ClassUse.Any),
        new("missed", Measure.Missed, BoundKind.Count, ClassUse.Any),
        new("reaction", Measure.Reaction, BoundKind.Duration, ClassUse.Any, TakesStatistic: true),
        new("settling", Measure.Settling, BoundKind.Duration, ClassUse.State, TakesStatistic: true),
        new("report_latency", Measure.ReportLatency, BoundKind.Duration, ClassUse.Any, TakesStatistic: true),
        new("dropouts", Measure.Dropouts, BoundKind.Count, ClassUse.State),
        new("chatter_per_minute", Measure.ChatterPerMinute, BoundKind.Rate, ClassUse.State),
        new("surplus_per_minute", Measure.SurplusPerMinute, BoundKind.Rate, ClassUse.None),
        new("shortest_dwell", Measure.ShortestDwell, BoundKind.Duration, ClassUse.State),
        new("insertions", Measure.Insertions, BoundKind.Count, ClassUse.State),
        new("deletions", Measure.Deletions, BoundKind.Count, ClassUse.State),
        new("fragmented", Measure.Fragmented, BoundKind.Count, ClassUse.State),
        new("merged", Measure.Merged, BoundKind.Count, ClassUse.State),
        new("false_alarms_per_hour", Measure.FalseAlarmsPerHour, BoundKind.Rate, ClassUse.Event),
        new("device_resets", Measure.DeviceResets, BoundKind.Count, ClassUse.None),
        new("device_silences", Measure.DeviceSilences, BoundKind.Count, ClassUse.None),
        new("device_clock_ppm", Measure.DeviceClockPpm, BoundKind.Skew, ClassUse.None),
    ];

    public static MeasureInfo Of(Measure measure) => All.Single(m => m.Measure == measure);
}
