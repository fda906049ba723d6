using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings;

/// <summary>
/// Motion data with labels. Channels are named by quantity and axis: <c>ax ay az</c> in g (1 g = 9.80665 m/s²; at rest an
/// accelerometer reads +1 g upwards: specific force), <c>gx gy gz</c> in degrees per second. All channels have the same
/// number of samples, evenly spaced at <see cref="Rate"/>.
/// </summary>
public sealed record Recording
{

    public required string Name { get; init; }
    public required SampleRate Rate { get; init; }
    public required IReadOnlyList<string> ChannelNames { get; init; }

    /// <summary>[channel][sample], in g or °/s.</summary>
    public required IReadOnlyList<double[]> Channels { get; init; }
    public IReadOnlyList<LabelInterval> Labels { get; init; } = [];
    public RecordingInfo Info { get; init; } = new();
    public int SampleCount => Channels.Count == 0 ? 0 : Channels[0].Length;
    public StimulusTime Duration => Rate.TimeOf(SampleCount);
}

/// <summary>A labelled stretch [Start, End) of a recording, in the recording's own time (0 = its first sample).</summary>
public sealed record LabelInterval(StimulusTime Start, StimulusTime End, string Class)
{
    /// <summary>On its way through a stimulus: the label as it stands in its recording, before cuts and stretches. Null: this is it.</summary>
    internal LabelInterval? Origin { get; init; }

    /// <summary>The same label at another place.</summary>
    internal LabelInterval MovedTo(StimulusTime start, StimulusTime end) => this with { Start = start, End = end, Origin = Origin ?? this };
}

/// <summary>What the side file NAME.yaml says. Every entry may be absent.</summary>
public sealed record RecordingInfo
{
    public SampleRate? Rate { get; init; }
    public double? RangeG { get; init; }
    /// <summary>Who or which machine was recorded: trials of one source are not independent of each other.</summary>
    public string? Source { get; init; }
    public string? Mounting { get; init; }
    public string? Provenance { get; init; }
    public string? Licence { get; init; }
    /// <summary>True for made-up data: every report that shows it says so.</summary>
    public bool Invented { get; init; }
}
