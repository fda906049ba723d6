using HilRunner.Core.Recordings;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Core.Signals;

/// <summary>
/// What the device is made to feel, ready to send: device counts at the device's input rate, with the reference timeline.
/// The first <see cref="LeadSamples"/> samples are the unscored run-in; the sample with index i lies at
/// (i − LeadSamples)/rate in stimulus time.
/// </summary>
public sealed record Stimulus
{
    public required SampleRate Rate { get; init; }
    /// <summary>In the order of the rig's input channels.</summary>
    public required IReadOnlyList<string> ChannelNames { get; init; }
    /// <summary>[channel][sample including the lead], in device counts.</summary>
    public required IReadOnlyList<int[]> Counts { get; init; }
    /// <summary>Physical value of one count per channel (g or °/s).</summary>
    public required IReadOnlyList<double> UnitsPerCount { get; init; }
    public required int LeadSamples { get; init; }
    public required IReadOnlyList<ReferenceInterval> Reference { get; init; }
    /// <summary>How many values of each channel were cut off at the device's range (lead included).</summary>
    public required IReadOnlyList<long> Clipped { get; init; }
    /// <summary>Recordings played, in order of first use.</summary>
    public required IReadOnlyList<StimulusSource> Sources { get; init; }
    public int SampleCount => Counts.Count == 0 ? 0 : Counts[0].Length;
    /// <summary>The end T of the stimulus: N/r for the N samples after the lead.</summary>
    public StimulusTime End => Rate.TimeOf(SampleCount - LeadSamples);
}
