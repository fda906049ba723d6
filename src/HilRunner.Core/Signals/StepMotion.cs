using HilRunner.Core.Recordings;

namespace HilRunner.Core.Signals;

/// <summary>What one step of a stimulus contributes, at the device's rate.</summary>
/// <param name="Channels">[channel of the rig][sample], in g or °/s.</param>
/// <param name="Labels">In stimulus time, within the step, in order, with device classes.</param>
internal sealed record StepMotion(IReadOnlyList<double[]> Channels, IReadOnlyList<LabelInterval> Labels)
{
    public int SampleCount => Channels[0].Length;

    /// <summary>Which of the stimulus' sources the labels come from, from 1; null: made, not played.</summary>
    public int? Recording { get; init; }
}

/// <summary>What every step needs to know.</summary>
/// <param name="Classes">Label → device class.</param>
internal sealed record StepContext(Rigs.InputSpec Input, IReadOnlyDictionary<string, string> Classes, ulong Seed)
{
    public string ClassOf(string label) => Classes.GetValueOrDefault(label, label);
}
