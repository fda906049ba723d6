using HilRunner.Core.Numerics;
using HilRunner.Core.Recordings;

namespace HilRunner.Core.Signals.Transforms;

/// <summary>White Gaussian noise on acceleration. Each axis has a stream of its own.</summary>
/// <param name="DeviationG">Standard deviation, 0 or more.</param>
public sealed record Noise(double DeviationG) : MotionTransform
{
    internal override MotionForm Check(MotionForm form, TransformContext context, StepFaults faults)
    {
        if (!(double.IsFinite(DeviationG) && DeviationG >= 0)) { faults.Add("a noise that is no amount", "a standard deviation such as 5 mg"); }
        return form;
    }

    internal override Motion Apply(Motion motion, TransformContext context, SeedTree seed)
    {
        foreach (var (name, values) in motion.Channels.Where(c => ColumnUse.IsAcceleration(c.Key)))
        {
            var noise = new GaussianNoise(seed.Branch(name[1]).Value);
            for (int i = 0; i < values.Length; i++) { values[i] += DeviationG * noise.Next(); }
        }
        return motion;
    }
}
