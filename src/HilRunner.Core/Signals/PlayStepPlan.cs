using HilRunner.Core.Numerics;
using HilRunner.Core.Recordings;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals.Transforms;
using HilRunner.Core.Time;

namespace HilRunner.Core.Signals;

/// <summary>
/// Part of a recording through its transforms. What belongs to the motion and its sensor's axes comes first, at the recording's rate; what
/// stands for the device comes at its rate, noise and gaps last: the resampler's filter would colour the one and blur the other.
/// </summary>
internal sealed class PlayStepPlan : StepPlan
{
    private readonly int _index;
    private readonly int _number;
    private readonly Recording _recording;
    private readonly IReadOnlyList<string> _channels;
    private readonly IReadOnlyList<MotionTransform> _transforms;
    private readonly TransformContext _context;

    private PlayStepPlan(
        int index, int number, Recording recording, IReadOnlyList<string> channels, IReadOnlyList<MotionTransform> transforms, TransformContext context, long sampleCount)
    {
        (_index, _number, _recording, _channels, _transforms, _context) = (index, number, recording, channels, transforms, context);
        SampleCount = sampleCount;
    }

    public override long SampleCount { get; }

    /// <param name="index">Place of the step in the scenario, from 0: part of the seed of all that is random.</param>
    /// <returns>Null after a fault.</returns>
    public static PlayStepPlan? Of(PlayStep step, int index, Recording recording, InputSpec input, TransformContext context, StepFaults faults)
    {
        var transforms = Transforms(step, input.Rate).ToList();
        var channels = TransformChain.Needs(transforms, input.Channels.Select(c => c.Name));
        CheckChannels(step, channels, recording, input, faults);
        var form = MotionForm.Of(step.Path, recording, channels);
        foreach (var transform in transforms) { form = transform.Check(form, context, faults); }
        return faults.Any ? null : new(index, context.Recordings.NumberOf(step.Path), recording, channels, transforms, context, form.SampleCount);
    }

    public override StepMotion Build(StepContext context, long first)
    {
        var seed = new SeedTree(context.Seed).Branch((ulong)_index);
        var motion = Motion.Of(_recording, _channels);
        foreach (var transform in _transforms) { motion = transform.Apply(motion, _context, seed); }
        return new([.. context.Input.Channels.Select(c => motion.Channels[c.Name])], Labels(motion, context, first)) { Recording = _number };
    }

    /// <summary>In their order; what would change nothing is left out.</summary>
    private static IEnumerable<MotionTransform> Transforms(PlayStep step, SampleRate rate)
    {
        yield return new Cut(step.From, step.To);
        if (step.Mirror.Count > 0) { yield return new Mirror(step.Mirror); }
        if (step.Rotate.Count > 0) { yield return new Rotate(step.Rotate); }
        if (step.Scale != 1 || step.ChannelScales.Count > 0) { yield return new Scale(step.Scale, step.ChannelScales); }
        if (step.Offsets.Count > 0) { yield return new Offset(step.Offsets); }
        yield return new Retime(step.StretchPermille, rate);
        if (step.Mix is { } mix) { yield return mix; }
        if (step.Filter is { } filter) { yield return filter; }
        if (step.NoiseG != 0) { yield return new Noise(step.NoiseG); }
        if (step.Dropouts is { } dropouts) { yield return dropouts; }
    }

    /// <summary>Moved to the step's place by a whole number of nanoseconds; the times of its first and last sample are those of the stimulus.</summary>
    private List<LabelInterval> Labels(Motion motion, StepContext context, long first)
    {
        StimulusTime start = context.Input.Rate.TimeOf(first), end = context.Input.Rate.TimeOf(first + SampleCount);
        var labels = new List<LabelInterval>();
        foreach (var label in motion.Labels)
        {
            StimulusTime from = start + label.Start.Ns, to = label.End >= motion.Duration || start + label.End.Ns > end ? end : start + label.End.Ns;
            if (from < to) { labels.Add(label.MovedTo(from, to) with { Class = context.ClassOf(label.Class) }); }
        }
        return labels;
    }

    private static void CheckChannels(PlayStep step, IReadOnlyList<string> needed, Recording recording, InputSpec input, StepFaults faults)
    {
        string[] missing = [.. needed.Except(recording.ChannelNames)];
        if (missing.Length == 0) { return; }
        bool named = missing.Any(m => step.ChannelScales.ContainsKey(m) || step.Offsets.ContainsKey(m));
        bool turned = missing.Any(m => input.Channels.All(c => c.Name != m)) && step.Rotate.Count > 0;
        faults.Add($"{step.Path} without {string.Join(", ", missing)} (it has {string.Join(", ", recording.ChannelNames)})",
            "every channel of the rig's input" + (turned ? ", and all three axes where they are rotated" : "") + (named ? ", and those that scale and offset name" : ""),
            turned ? "leave the rotation out or take a recording with three axes"
            : named ? "leave it out of scale and offset, or take a recording that has it"
            : "take a recording that has it, or a rig without that channel");
    }
}
