using HilRunner.Core.Numerics;
using HilRunner.Core.Recordings;
using HilRunner.Core.Time;

namespace HilRunner.Core.Signals.Transforms;

/// <summary>
/// Another speed, another rate, or both, in one pass of the band-limited resampler. A stretch of 2 plays the same motion half as fast:
/// it lasts twice as long, its frequencies halve, its labels move along, and its rate stays. Values stay as they are: where a person
/// really moved half as fast, accelerations would be a quarter and turning rates a half (beside gravity), which a scale can say.
/// A label that lasts until the end lasts until the new end, up to one sample later.
/// </summary>
/// <param name="StretchPermille">Thousandths of its length that it will last; <see cref="LeastStretch"/> to <see cref="MostStretch"/>.</param>
/// <param name="Rate">Null: the rate stays.</param>
public sealed record Retime(int StretchPermille, SampleRate? Rate) : MotionTransform
{
    public const int LeastStretch = 500;
    public const int MostStretch = 2000;

    internal override MotionForm Check(MotionForm form, TransformContext context, StepFaults faults)
    {
        SampleRate to = Rate ?? form.Rate;
        if (StretchPermille is < LeastStretch or > MostStretch)
        {
            faults.Add(FormattableString.Invariant($"a stretch of {StretchPermille / 1000.0}"), "a factor from 0.5 to 2");
            return form with { Rate = to };
        }
        var ratio = PolyphaseResampler.Ratio(form.Rate, to, StretchPermille);
        if (ratio == (1, 1)) { return form with { Rate = to }; }
        if (context.Resamplers.Get(ratio) is { } resampler) { return form with { Rate = to, SampleCount = resampler.OutputLength(form.SampleCount) }; }
        string stretched = StretchPermille == 1000 ? "" : FormattableString.Invariant($", stretched by {StretchPermille / 1000.0}");
        faults.Add($"{form.Name} at {form.Rate} to be played at {to}{stretched}: a ratio of {ratio.Up}:{ratio.Down}",
            $"at most {PolyphaseResampler.LargestQuotient}:1 either way and no number above {PolyphaseResampler.LargestFactor}",
            "state the recording's rate more roundly, or resample it beforehand");
        return form with { Rate = to };
    }

    internal override Motion Apply(Motion motion, TransformContext context, SeedTree seed)
    {
        SampleRate to = Rate ?? motion.Rate;
        var ratio = PolyphaseResampler.Ratio(motion.Rate, to, StretchPermille);
        StimulusTime before = motion.Duration;
        var changed = ratio == (1, 1) ? motion : motion.Each(values => context.Resamplers.Get(ratio)!.Apply(values));
        changed = changed with { Rate = to };
        return changed with { Labels = [.. Moved(motion.Labels, before, changed.Duration)] };
    }

    private IEnumerable<LabelInterval> Moved(IReadOnlyList<LabelInterval> labels, StimulusTime before, StimulusTime after)
    {
        foreach (var label in labels)
        {
            StimulusTime from = Moved(label.Start), to = label.End >= before ? after : Moved(label.End);
            if (to > after) { to = after; }
            if (from < to) { yield return label.MovedTo(from, to); }
        }
    }

    /// <summary>To the nearest nanosecond, ties up; nothing here lies before 0.</summary>
    private StimulusTime Moved(StimulusTime time) => new((long)(((Int128)time.Ns * StretchPermille + 500) / 1000));
}
