using HilRunner.Core.Numerics;

namespace HilRunner.Core.Signals.Transforms;

/// <summary>A constant on top, as of a sensor whose zero has drifted.</summary>
/// <param name="Channels">ax ay az → g, gx gy gz → °/s.</param>
public sealed record Offset(IReadOnlyDictionary<string, double> Channels) : MotionTransform
{
    internal override IEnumerable<string> Needs(IReadOnlyCollection<string> wanted) => wanted.Union(Channels.Keys);

    internal override MotionForm Check(MotionForm form, TransformContext context, StepFaults faults)
    {
        if (Channels.Values.Any(o => !double.IsFinite(o))) { faults.Add("an offset that is no number", "an amount such as 20 mg"); }
        return form;
    }

    internal override Motion Apply(Motion motion, TransformContext context, SeedTree seed)
    {
        foreach (var (name, offset) in Channels)
        {
            double[] values = motion.Channels[name];
            for (int i = 0; i < values.Length; i++) { values[i] += offset; }
        }
        return motion;
    }
}
