using System.Globalization;

namespace HilRunner.Engine.Shaking;

/// <summary>
/// How low a table moves first, before anybody knows what it makes: a tenth of the highest level that is to come, and no less than
/// what is told apart from a sensor's noise.
/// </summary>
public static class FirstLevel
{
    /// <summary>Less than this is not told apart from noise.</summary>
    public const double LowestG = 0.03;

    private const double Share = 0.1;
    private const double LargestStep = 10;

    /// <param name="highestG">The highest level that is to come, above 0.</param>
    public static double Of(double highestG) => Math.Max(LowestG, Share * highestG);

    /// <summary>
    /// The levels by which a table climbs to its first: what it makes of each frequency is not known at the lowest, which a
    /// resonance in its band may make many times as high.
    /// </summary>
    public static IReadOnlyList<double> Steps(double highestG)
    {
        double first = Of(highestG);
        int steps = Math.Max(1, 1 + (int)Math.Ceiling(Math.Log(first / LowestG) / Math.Log(LargestStep) - 1e-9));
        return [.. Enumerable.Range(0, steps).Select(i => steps == 1 ? first
            : LowestG * Math.Pow(first / LowestG, i / (steps - 1.0)))];
    }

    /// <summary>
    /// "at 0.03 g, 3 % of the highest level, and then up to 0.1 g"; and that it is no low level, where nothing lower could be
    /// measured.
    /// </summary>
    public static string Words(double highestG)
    {
        var steps = Steps(highestG);
        double firstG = steps[0];
        string text = string.Create(CultureInfo.InvariantCulture,
            $"at {firstG:0.###} g, {100 * firstG / highestG:0} % of the highest level")
            + (steps.Count > 1 ? string.Create(CultureInfo.InvariantCulture, $", and then up to {steps[^1]:0.###} g") : "");
        return firstG <= Share * highestG * 1.001 ? text
            : text + " (nothing lower is told apart from noise: for this motion that is no low level)";
    }
}
