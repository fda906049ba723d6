using HilRunner.Core.Numerics;

namespace HilRunner.Core.Signals.Synthesis;

/// <summary>One break point of an acceleration spectral density.</summary>
/// <param name="Hz">Above 0.</param>
/// <param name="G2PerHz">One-sided, in g²/Hz; above 0.</param>
public readonly record struct DensityPoint(double Hz, double G2PerHz);

/// <summary>
/// An acceleration spectral density by its break points, straight lines between them where both scales are logarithmic, and nothing
/// below the first and above the last: the form in which random vibration tests are specified.
/// </summary>
/// <param name="points">At least two, with rising frequencies.</param>
internal sealed class SpectralDensity(IReadOnlyList<DensityPoint> points)
{
    public double LowestHz => points[0].Hz;
    public double HighestHz => points[^1].Hz;

    /// <summary>The narrowest thing that has to be told apart: a segment, or the way from 0 Hz to the first point.</summary>
    public double FinestHz => Math.Min(LowestHz, points.Zip(points.Skip(1), (a, b) => b.Hz - a.Hz).Min());

    /// <summary>In g²/Hz.</summary>
    public double At(double hz)
    {
        if (hz < LowestHz || hz > HighestHz) { return 0; }
        int right = 1;
        while (points[right].Hz < hz) { right++; }
        DensityPoint a = points[right - 1], b = points[right];
        return a.G2PerHz * PortableMath.Exp(Slope(a, b) * PortableMath.Log(hz / a.Hz));
    }

    /// <summary>
    /// The root of the area, in g. A segment of slope s = ln(G₂/G₁)/ln(f₂/f₁) has the area G₁f₁((f₂/f₁)^(s+1) − 1)/(s + 1), which for s = −1
    /// is G₁f₁ ln(f₂/f₁).
    /// </summary>
    public double Rms => Math.Sqrt(points.Zip(points.Skip(1), Area).Sum());

    private static double Area(DensityPoint a, DensityPoint b)
    {
        double ratio = PortableMath.Log(b.Hz / a.Hz);
        return a.G2PerHz * a.Hz * ratio * PortableMath.Growth((Slope(a, b) + 1) * ratio);
    }

    private static double Slope(DensityPoint a, DensityPoint b) => PortableMath.Log(b.G2PerHz / a.G2PerHz) / PortableMath.Log(b.Hz / a.Hz);
}
