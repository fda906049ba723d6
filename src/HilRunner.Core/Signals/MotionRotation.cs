using HilRunner.Core.Numerics;
using HilRunner.Core.Signals.Transforms;

namespace HilRunner.Core.Signals;

/// <summary>
/// Turns each vector (x, y, z) right-handed about an axis of the device: after 90 degrees about z, what was felt along +x is felt
/// along +y (the device itself is mounted turned the other way). Several rotations act in their order; quarter turns are exact.
/// </summary>
internal sealed class MotionRotation
{
    private readonly double[,] _matrix = { { 1, 0, 0 }, { 0, 1, 0 }, { 0, 0, 1 } };

    public MotionRotation(IReadOnlyList<Rotation> rotations)
    {
        foreach (var rotation in rotations) { Append(rotation); }
    }

    /// <summary>In place.</summary>
    public void Apply(double[] x, double[] y, double[] z)
    {
        var m = _matrix;
        for (int i = 0; i < x.Length; i++)
        {
            double a = x[i], b = y[i], c = z[i];
            x[i] = m[0, 0] * a + m[0, 1] * b + m[0, 2] * c;
            y[i] = m[1, 0] * a + m[1, 1] * b + m[1, 2] * c;
            z[i] = m[2, 0] * a + m[2, 1] * b + m[2, 2] * c;
        }
    }

    private void Append(Rotation rotation)
    {
        var (sin, cos) = PortableMath.SinCosTurns(rotation.Degrees / 360);
        // The plane that is turned, in the order that makes the turn right-handed: y→z, z→x, x→y.
        int from = rotation.Axis switch { 'x' => 1, 'y' => 2, _ => 0 }, to = (from + 1) % 3;
        for (int column = 0; column < 3; column++)
        {
            double a = _matrix[from, column], b = _matrix[to, column];
            _matrix[from, column] = cos * a - sin * b;
            _matrix[to, column] = sin * a + cos * b;
        }
    }
}
