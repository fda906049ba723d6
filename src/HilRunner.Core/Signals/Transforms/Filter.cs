using HilRunner.Core.Numerics;
using HilRunner.Core.Signals.Filters;

namespace HilRunner.Core.Signals.Transforms;

/// <summary>
/// A Butterworth filter on all channels: a low-pass below <paramref name="HighHz"/>, a high-pass above <paramref name="LowHz"/>, or a
/// band-pass between them. −3 dB at the edges, the attenuation of an <paramref name="Order"/>th-order filter beyond. Causal, with a real
/// filter's delay, or, without delay and with the attenuation doubled (−6 dB at the edges), forward and backward. High- and band-pass
/// take gravity away; the filter starts settled on the first sample.
/// </summary>
/// <param name="LowHz">Lower edge; null: passes all down to 0 Hz.</param>
/// <param name="HighHz">Upper edge; null: passes all up to half the rate.</param>
/// <param name="Order">1 to <see cref="HighestOrder"/>.</param>
/// <param name="ZeroPhase">Forward and backward.</param>
public sealed record Filter(double? LowHz, double? HighHz, int Order, bool ZeroPhase) : MotionTransform
{
    public const int HighestOrder = 10;

    internal override MotionForm Check(MotionForm form, TransformContext context, StepFaults faults)
    {
        foreach (double edge in new[] { LowHz, HighHz }.OfType<double>())
        {
            if (!(edge > 0 && edge < form.Rate.Hertz / 2)) { faults.Add(FormattableString.Invariant($"a filter at {edge} Hz"), $"above 0 and below half the rate of {form.Rate}"); }
        }
        if (LowHz is null && HighHz is null) { faults.Add("a filter without edges", "a low-pass, a high-pass or a band-pass"); }
        if (LowHz >= HighHz) { faults.Add(FormattableString.Invariant($"a band from {LowHz} to {HighHz} Hz"), "a lower edge below the upper one"); }
        if (Order is < 1 or > HighestOrder) { faults.Add($"a filter of order {Order}", $"an order from 1 to {HighestOrder}"); }
        return form;
    }

    internal override Motion Apply(Motion motion, TransformContext context, SeedTree seed)
    {
        double rate = motion.Rate.Hertz;
        var sections = (LowHz, HighHz) switch
        {
            ({ } low, { } high) => Butterworth.BandPass(Order, low, high, rate),
            ({ } low, null) => Butterworth.HighPass(Order, low, rate),
            _ => Butterworth.LowPass(Order, HighHz!.Value, rate),
        };
        foreach (double[] values in motion.Channels.Values)
        {
            if (ZeroPhase) { SecondOrderSections.FilterBothWays(sections, values); }
            else { SecondOrderSections.Filter(sections, values); }
        }
        return motion;
    }
}
