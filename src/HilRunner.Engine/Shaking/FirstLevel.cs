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

    /// <param name="highestG">The highest level that is to come, above 0.</param>
    public static double Of(double highestG) => Math.Max(LowestG, Share * highestG);

    /// <summary>"at 0.05 g, 10 % of the highest level"; and that it is no low level, where nothing lower could be measured.</summary>
    public static string Words(double firstG, double highestG)
    {
        string text = string.Create(CultureInfo.InvariantCulture,
            $"at {firstG:0.###} g, {100 * firstG / highestG:0} % of the highest level");
        return firstG <= Share * highestG * 1.001 ? text
            : text + " (nothing lower is told apart from noise: for this motion that is no low level)";
    }
}
