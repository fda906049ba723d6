using HilRunner.Core.Numerics;

namespace HilRunner.Core.Shakers;

/// <summary>
/// A table moved as a sine. Displacement X, velocity v and acceleration a are zero to peak: v = 2πf·X, a = (2πf)²·X, jerk = (2πf)³·X (elementary mechanics; as
/// IEC 60068-2-6 uses it).
/// </summary>
/// <param name="Hz">Above 0.</param>
/// <param name="PeakG">Acceleration, zero to peak; 0: at rest.</param>
public readonly record struct SineMotion(double Hz, double PeakG)
{

    private double Omega => 2 * Math.PI * Hz;

    /// <summary>In m/s².</summary>
    public double Acceleration => PeakG * Gravity.Standard;
    /// <summary>In m, either side of the middle.</summary>
    public double Displacement => Acceleration / (Omega * Omega);
    /// <summary>In m/s.</summary>
    public double Velocity => Acceleration / Omega;
    /// <summary>In g/s.</summary>
    public double Jerk => PeakG * Omega;

    /// <summary>Where a displacement and an acceleration meet: below it the one limits, above it the other (IEC 60068-2-6:2007).</summary>
    /// <param name="displacement">In m.</param>
    /// <param name="acceleration">In m/s².</param>
    public static double CrossOverHz(double displacement, double acceleration) => Math.Sqrt(acceleration / displacement) / (2 * Math.PI);
}
