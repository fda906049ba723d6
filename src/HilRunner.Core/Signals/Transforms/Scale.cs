using HilRunner.Core.Numerics;

namespace HilRunner.Core.Signals.Transforms;

/// <summary>Factors: one on all channels, gravity included, and one of its own on each channel named. A factor of −1 reverses a channel.</summary>
/// <param name="Factor">On all channels.</param>
/// <param name="Channels">ax ay az gx gy gz → a factor on top of it.</param>
public sealed record Scale(double Factor, IReadOnlyDictionary<string, double> Channels) : MotionTransform
{
    internal override IEnumerable<string> Needs(IReadOnlyCollection<string> wanted) => wanted.Union(Channels.Keys);

    internal override MotionForm Check(MotionForm form, TransformContext context, StepFaults faults)
    {
        if (!double.IsFinite(Factor) || Channels.Values.Any(f => !double.IsFinite(f))) { faults.Add("a scale that is no number", "a factor such as 0.8"); }
        return form;
    }

    internal override Motion Apply(Motion motion, TransformContext context, SeedTree seed)
    {
        foreach (var (name, values) in motion.Channels)
        {
            double factor = Factor * Channels.GetValueOrDefault(name, 1);
            if (factor == 1) { continue; }
            for (int i = 0; i < values.Length; i++) { values[i] *= factor; }
        }
        return motion;
    }
}
