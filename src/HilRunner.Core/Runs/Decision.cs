using HilRunner.Core.Time;

namespace HilRunner.Core.Runs;

/// <summary>How the time of a decision was found (scoring: "When a decision was made"), best first.</summary>
public enum DecisionTiming { Sample, DeviceClock, Arrival }

/// <summary>One row of decisions.csv: the device said <paramref name="Class"/>. Repeats of the current class are kept.</summary>
/// <param name="Time">When the decision was made, in stimulus time.</param>
/// <param name="Class">Device class name.</param>
/// <param name="Output">Name of the device's output; "" where a log has only one.</param>
public sealed record Decision(StimulusTime Time, string Class, string Output = "")
{
    /// <summary>In place of a class: nothing decided, or a value that the rig's map of classes does not hold.</summary>
    public const string NoClass = Documents.ClassNames.None;

    public DecisionTiming Timing { get; init; } = DecisionTiming.Sample;
    /// <summary>The last sample the device had consumed, counted from the first stimulus sample; negative in the lead.</summary>
    public long? Sample { get; init; }
    /// <summary>The device's own time stamp, unwrapped.</summary>
    public DeviceTime? DeviceTime { get; init; }
    /// <summary>Arrival of the first byte of the message, as host time since the first stimulus sample was played.</summary>
    public long? ArrivalNs { get; init; }
    /// <summary>Half-width of the interval around <see cref="ArrivalNs"/> that holds the truth; null when not known.</summary>
    public long? ArrivalUncertaintyNs { get; init; }
    /// <summary>Half-width of the interval around <see cref="Time"/> that holds the truth; null when not known.</summary>
    public long? UncertaintyNs { get; init; }
    /// <summary>The device's confidence value, as it gave it.</summary>
    public double? Confidence { get; init; }
}
