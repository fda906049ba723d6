namespace HilRunner.Core.Numerics;

/// <summary>The unit of acceleration.</summary>
public static class Gravity
{
    /// <summary>1 g in m/s² (standard acceleration of free fall: CGPM 1901, ISO 80000-3).</summary>
    public const double Standard = 9.80665;
}
