using HilRunner.Core.Numerics;

namespace HilRunner.Core.Signals.Transforms;

/// <summary>Right-handed rotations about axes of the device, acceleration and turning rate alike, in their order.</summary>
public sealed record Rotate(IReadOnlyList<Rotation> Rotations) : MotionTransform
{
    private static readonly string[][] s_vectors = [["ax", "ay", "az"], ["gx", "gy", "gz"]];

    /// <summary>All three axes of each vector that is wanted.</summary>
    internal override IEnumerable<string> Needs(IReadOnlyCollection<string> wanted) => s_vectors.Where(v => v.Any(wanted.Contains)).SelectMany(v => v);

    internal override MotionForm Check(MotionForm form, TransformContext context, StepFaults faults)
    {
        if (Rotations.Any(r => r.Axis is not ('x' or 'y' or 'z') || !double.IsFinite(r.Degrees))) { faults.Add("a rotation that cannot be made", "axes x, y and z and angles such as 90 deg"); }
        return form;
    }

    internal override Motion Apply(Motion motion, TransformContext context, SeedTree seed)
    {
        var rotation = new MotionRotation(Rotations);
        foreach (string[] v in s_vectors)
        {
            if (motion.Channels.ContainsKey(v[0])) { rotation.Apply(motion.Channels[v[0]], motion.Channels[v[1]], motion.Channels[v[2]]); }
        }
        return motion;
    }
}
