using HilRunner.Core.Models;
using HilRunner.Core.Time;
using HilRunner.Inspection.Reading;

namespace HilRunner.Inspection;

/// <summary>What a recording is held against beside itself. Everything may be absent; what needs it is then not judged.</summary>
public sealed record InspectionOptions
{
    /// <summary>Sample rate of the device that it will be played to.</summary>
    public SampleRate? DeviceRate { get; init; }
    /// <summary>A recording of the same mounting that is known to be right.</summary>
    public InspectedRecording? Reference { get; init; }
    /// <summary>Features and window in which labels are compared; null: a default set.</summary>
    public MotionModel? Model { get; init; }
    /// <summary>Tell the velocity severity of every class, for recordings of machines.</summary>
    public bool Severity { get; init; }
    /// <summary>Labels of momentary happenings: naturally short and rare.</summary>
    public IReadOnlyCollection<string> Momentary { get; init; } = [];
    /// <summary>Labels that are never right or wrong, such as transitions: their balance, length and fit do not count.</summary>
    public IReadOnlyCollection<string> Unscored { get; init; } = [];
}
