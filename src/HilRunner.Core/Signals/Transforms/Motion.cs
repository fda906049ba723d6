using HilRunner.Core.Recordings;
using HilRunner.Core.Time;

namespace HilRunner.Core.Signals.Transforms;

/// <summary>Motion on its way through transforms. Times count from its own first sample.</summary>
/// <param name="Channels">Name → values in g or °/s, all of one length.</param>
internal sealed record Motion(SampleRate Rate, IReadOnlyDictionary<string, double[]> Channels, IReadOnlyList<LabelInterval> Labels)
{
    public int SampleCount => Channels.Values.First().Length;
    public StimulusTime Duration => Rate.TimeOf(SampleCount);

    /// <summary>As it stands, nothing copied: a transform that changes values must not come first.</summary>
    public static Motion Of(Recording recording, IEnumerable<string> channels) => new(recording.Rate,
        channels.ToDictionary(c => c, c => recording.Channels[recording.ChannelNames.ToList().IndexOf(c)]), recording.Labels);

    public Motion Each(Func<double[], double[]> change) => this with { Channels = Channels.ToDictionary(c => c.Key, c => change(c.Value)) };
}

/// <summary>What is known of motion before any of it is computed.</summary>
/// <param name="Name">For messages: the path of the recording.</param>
internal sealed record MotionForm(string Name, SampleRate Rate, long SampleCount, IReadOnlyList<string> Channels)
{
    public StimulusTime Duration => Rate.TimeOf(SampleCount);

    public static MotionForm Of(string name, Recording recording, IReadOnlyList<string> channels) =>
        new(name, recording.Rate, recording.SampleCount, channels);
}
