using HilRunner.Core.Numerics;
using HilRunner.Core.Recordings;
using HilRunner.Core.Time;

namespace HilRunner.Core.Signals.Transforms;

/// <summary>
/// The samples that lie in [From, To), in the motion's own time. Labels are moved along by whole nanoseconds and cut; one that
/// lasts beyond the cut ends with it.
/// </summary>
/// <param name="From">Null: its start.</param>
/// <param name="To">Null: its end.</param>
public sealed record Cut(StimulusTime? From, StimulusTime? To) : MotionTransform
{
    internal override MotionForm Check(MotionForm form, TransformContext context, StepFaults faults)
    {
        string lasts = $"{form.Name} lasts {form.Duration}";
        StimulusTime from = From ?? StimulusTime.Zero, to = To ?? form.Duration;
        var (first, end) = Range(form.Rate, form.SampleCount);
        if (from.Ns < 0 || from >= form.Duration) { faults.Add($"from {from}", $"a time from 0 on in the recording: {lasts}"); }
        else if (to > form.Duration) { faults.Add($"to {to}", $"a time in the recording: {lasts}"); }
        else if (first >= end) { faults.Add($"from {from} to {to}", "a stretch with at least one sample"); }
        return form with { SampleCount = Math.Max(1, end - first) };
    }

    internal override Motion Apply(Motion motion, TransformContext context, SeedTree seed)
    {
        var (first, last) = Range(motion.Rate, motion.SampleCount);
        StimulusTime start = motion.Rate.TimeOf(first), end = motion.Rate.TimeOf(last), duration = motion.Rate.TimeOf(last - first);
        var labels = new List<LabelInterval>();
        foreach (var label in motion.Labels)
        {
            var from = label.Start <= start ? StimulusTime.Zero : new(label.Start - start);
            var to = label.End >= end ? duration : new(label.End - start);
            if (label.Start < end && from < to) { labels.Add(label.MovedTo(from, to)); }
        }
        return motion.Each(values => values[(int)first..(int)last]) with { Labels = labels };
    }

    private (long First, long End) Range(SampleRate rate, long samples) =>
        (Math.Min(samples, FirstFrom(From ?? StimulusTime.Zero, rate)), Math.Min(samples, To is { } to ? FirstFrom(to, rate) : samples));

    /// <summary>The first sample at or after a time. A sample's time is a whole nanosecond, perhaps rounded up: a cut at just that time takes it in.</summary>
    private static long FirstFrom(StimulusTime time, SampleRate rate)
    {
        long first = rate.SamplesBefore(time);
        return first > 0 && rate.TimeOf(first - 1) >= time ? first - 1 : first;
    }
}
