using HilRunner.Core.Numerics;
using HilRunner.Core.Recordings;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Time;

namespace HilRunner.Core.Signals.Transforms;

/// <summary>What is mixed in.</summary>
public abstract record MixSource
{
    private protected MixSource() { }
}

/// <summary>Another recording, from its start.</summary>
/// <param name="Format">Null: the native form.</param>
public sealed record MixedRecording(string Path, ForeignFormat? Format) : MixSource;

/// <summary>A made signal for so long. What has no motion of its own, rest and free fall, cannot be mixed in.</summary>
public sealed record MixedSignal(SynthSignal Signal, TimeSpan For) : MixSource;

/// <summary>
/// Adds other motion, such as the shaking of a vehicle below a person's movements, in the axes that the motion has at this point. Of a
/// recording, resampled to the motion's rate, each channel comes less its own mean, so that gravity is there once; of a made signal, what
/// it adds to rest. It starts at <see cref="At"/>, ends where it or the motion ends, and brings no labels.
/// </summary>
public sealed record Mix(MixSource With) : MotionTransform
{
    /// <summary>Factor on what is added.</summary>
    public double Gain { get; init; } = 1;

    /// <summary>In the motion's time at this point (after a stretch).</summary>
    public StimulusTime At { get; init; }

    internal override MotionForm Check(MotionForm form, TransformContext context, StepFaults faults)
    {
        if (!double.IsFinite(Gain)) { faults.Add("a gain that is no number", "a factor such as 0.5"); }
        if (At.Ns < 0 || At >= form.Duration) { faults.Add($"a mix at {At}", $"a time from 0 on in the {form.Duration} of {form.Name}"); }
        if (With is MixedSignal made) { Check(made, form, faults); }
        else { Check((MixedRecording)With, form, context, faults); }
        return form;
    }

    internal override Motion Apply(Motion motion, TransformContext context, SeedTree seed)
    {
        int start = (int)motion.Rate.SamplesBefore(At), room = Math.Max(0, motion.SampleCount - start);
        if (With is MixedSignal made) { Add(motion, made, start, room, seed.Branch('m')); }
        else { Add(motion, (MixedRecording)With, start, room, context); }
        return motion;
    }

    private static void Check(MixedSignal made, MotionForm form, StepFaults faults)
    {
        if (made.Signal.Along is not { } along) { faults.Add("a mix with a signal that does not move", "a tone, a sweep, a random signal or an impact"); }
        else if (!along.Exists) { faults.Add($"mix axis {along}", "x, y or z"); }
        if (made.For <= TimeSpan.Zero || made.For > SynthStepPlan.Longest) { faults.Add($"a mix for {made.For}", "a time above 0 and at most a year"); }
        else { made.Signal.Check(form.Rate, made.For, faults); }
    }

    private static void Check(MixedRecording other, MotionForm form, TransformContext context, StepFaults faults)
    {
        try
        {
            var recording = context.Recordings.Get(other.Path, other.Format);
            string[] missing = [.. form.Channels.Except(recording.ChannelNames)];
            if (missing.Length > 0)
            {
                faults.Add($"{other.Path} without {string.Join(", ", missing)} (it has {string.Join(", ", recording.ChannelNames)})", $"every channel of {form.Name} that is played");
            }
            new Retime(1000, form.Rate).Check(MotionForm.Of(other.Path, recording, form.Channels), context, faults);
        }
        catch (BadInputException e) { faults.Add(e); }
    }

    private void Add(Motion motion, MixedSignal made, int start, int room, SeedTree seed)
    {
        Direction along = made.Signal.Along!.Value;
        if (!motion.Channels.TryGetValue(along.Channel, out double[]? values)) { return; }
        double[] added = new double[(int)Math.Min(room, motion.Rate.SamplesBefore(new(made.For.Ticks * 100)))];
        made.Signal.Fill(added, motion.Rate, made.For, seed);
        for (int i = 0; i < added.Length; i++) { values[start + i] += Gain * along.Sign * added[i]; }
    }

    private void Add(Motion motion, MixedRecording other, int start, int room, TransformContext context)
    {
        var recording = context.Recordings.Get(other.Path, other.Format);
        var ratio = PolyphaseResampler.Ratio(recording.Rate, motion.Rate);
        foreach (var (name, values) in motion.Channels)
        {
            double[] source = recording.Channels[recording.ChannelNames.ToList().IndexOf(name)];
            double mean = source.Sum() / source.Length;
            double[] added = ratio == (1, 1) ? source : context.Resamplers.Get(ratio)!.Apply(source);
            for (int i = 0; i < Math.Min(room, added.Length); i++) { values[start + i] += Gain * (added[i] - mean); }
        }
    }
}
