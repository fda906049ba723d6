namespace HilRunner.Scoring.Pooling;

/// <summary>One stretch of motion in one run, and the false alarms that the device gave while it was played.</summary>
/// <param name="Output">Of the device.</param>
/// <param name="HeardNs">How long it was played.</param>
/// <param name="Alarms">By event class; null: the run's score does not say when they came.</param>
public sealed record HeardStretch(string Output, TrialMotion Motion, long HeardNs, IReadOnlyDictionary<string, int>? Alarms)
{
    /// <summary>Everything that was played in one run, for one output, in the order of the stimulus.</summary>
    /// <param name="events">Of the output, by class.</param>
    public static IReadOnlyList<HeardStretch> Of(
        string output, IReadOnlyList<PlayedMotion> played, IReadOnlyDictionary<string, EventScore> events)
    {
        ArgumentNullException.ThrowIfNull(played);
        ArgumentNullException.ThrowIfNull(events);
        bool known = events.Values.All(e => e.FalseAlarms == 0 || e.AlarmsAtNs is not null);
        return
        [
            .. played.Select(p => new HeardStretch(output, p.Motion, p.ToNs - p.FromNs, !known ? null
                : events.ToDictionary(e => e.Key, e => e.Value.AlarmsAtNs?.Count(at => at >= p.FromNs && at < p.ToNs) ?? 0,
                    StringComparer.Ordinal))),
        ];
    }
}
