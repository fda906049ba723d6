using HilRunner.Core.Numerics;

namespace HilRunner.Core.Signals.Transforms;

/// <summary>
/// The mirror image of the motion, as if left were right: acceleration along each named axis changes its sign, and of the turning rates
/// those about the two other axes (a turn is an axial vector: a wheel that rolls along a mirror turns the same way in it). Two axes
/// are half a turn about the third. It is not a fault of wiring: one reversed channel is a scale of −1.
/// </summary>
/// <param name="Axes">x, y, z; each at most once.</param>
public sealed record Mirror(IReadOnlyList<char> Axes) : MotionTransform
{
    internal override MotionForm Check(MotionForm form, TransformContext context, StepFaults faults)
    {
        if (Axes.Any(a => a is not ('x' or 'y' or 'z')) || Axes.Distinct().Count() != Axes.Count)
        {
            faults.Add($"a mirror of {string.Join(", ", Axes)}", "axes among x, y and z, each once");
        }
        return form;
    }

    internal override Motion Apply(Motion motion, TransformContext context, SeedTree seed)
    {
        foreach (var (name, values) in motion.Channels)
        {
            int flips = name[0] == 'a' ? Axes.Count(a => a == name[1]) : Axes.Count(a => a != name[1]);
            if (flips % 2 == 0) { continue; }
            for (int i = 0; i < values.Length; i++) { values[i] = -values[i]; }
        }
        return motion;
    }
}
