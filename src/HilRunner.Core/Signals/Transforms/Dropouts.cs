using HilRunner.Core.Numerics;
using HilRunner.Core.Time;

namespace HilRunner.Core.Signals.Transforms;

public enum DropoutFill
{
    /// <summary>The last value before the gap, as a sensor register that is no longer written.</summary>
    Hold,
    /// <summary>0 on all channels, gravity gone too, as a buffer that was cleared.</summary>
    Zero,
}

/// <summary>
/// Gaps on all channels at once: as many gaps of one length as come nearest to the share of the time, at places drawn with equal
/// chances from all arrangements in which at least one good sample stands before every gap. Samples keep their times, labels stay.
/// </summary>
/// <param name="Share">Of the samples, above 0 and below 1.</param>
/// <param name="Length">Of one gap; in samples, rounded up.</param>
public sealed record Dropouts(double Share, TimeSpan Length, DropoutFill Fill) : MotionTransform
{
    internal override MotionForm Check(MotionForm form, TransformContext context, StepFaults faults)
    {
        if (!(Share is > 0 and < 1)) { faults.Add(FormattableString.Invariant($"dropouts of {Share * 100} % of the time"), "a share above 0 and below 1"); }
        if (Length <= TimeSpan.Zero) { faults.Add($"dropouts of {Length}", "a length above 0 s"); }
        if (!(Share is > 0 and < 1) || Length <= TimeSpan.Zero) { return form; }
        var (gaps, samples) = Gaps(form.Rate, form.SampleCount);
        string found = FormattableString.Invariant($"dropouts of {Share * 100} % of {form.SampleCount} samples in gaps of {samples}");
        if (gaps == 0) { faults.Add($"{found}: not one gap", "a share of at least half a gap", "shorten the gaps, raise the share or play more"); }
        if (gaps * (samples + 1) > form.SampleCount) { faults.Add($"{found}: {gaps} of them", "a good sample before every gap", "lower the share or lengthen the gaps"); }
        return form;
    }

    internal override Motion Apply(Motion motion, TransformContext context, SeedTree seed)
    {
        var (gaps, length) = Gaps(motion.Rate, motion.SampleCount);
        var random = new Xoshiro256(seed.Branch('d').Value);
        long place = 0, good = motion.SampleCount - gaps * length;
        // Each good sample is drawn as one before a gap or not (Knuth, The Art of Computer Programming, vol. 2, algorithm S, from memory).
        for (long left = gaps; left > 0; good--)
        {
            place++;
            if (random.NextShare() * good >= left) { continue; }
            foreach (double[] values in motion.Channels.Values)
            {
                values.AsSpan((int)place, (int)length).Fill(Fill == DropoutFill.Hold ? values[place - 1] : 0);
            }
            place += length;
            left--;
        }
        return motion;
    }

    private (long Count, long Samples) Gaps(SampleRate rate, long samples)
    {
        long length = Math.Max(1, rate.SamplesBefore(new(Length.Ticks * 100)));
        return ((long)Math.Round(Share * samples / length), length);
    }
}
