namespace HilRunner.Inspection.Spectrum;

/// <summary>The frequency at which a spectrum is strongest.</summary>
internal static class SpectralPeak
{
    /// <summary>Below, it is posture and drift, not motion.</summary>
    public const double LowestHz = 0.4;

    /// <summary>
    /// Strongest line from <see cref="LowestHz"/> (and two lines from 0) on, moved to the top of the parabola through the logarithms of it and its
    /// neighbours. Null where nothing is above zero.
    /// </summary>
    public static double? Of(double[] density, double resolutionHz)
    {
        int from = Math.Max(2, (int)Math.Ceiling(LowestHz / resolutionHz)), best = -1;
        for (int k = from; k < density.Length; k++)
        {
            if (density[k] > 0 && (best < 0 || density[k] > density[best])) { best = k; }
        }
        if (best < 0) { return null; }
        if (best == density.Length - 1 || density[best - 1] <= 0 || density[best + 1] <= 0) { return best * resolutionHz; }
        double before = Math.Log(density[best - 1]), at = Math.Log(density[best]), after = Math.Log(density[best + 1]);
        double bend = before - 2 * at + after;
        double shift = bend < 0 ? 0.5 * (before - after) / bend : 0;
        return (best + Math.Clamp(shift, -0.5, 0.5)) * resolutionHz;
    }
}
