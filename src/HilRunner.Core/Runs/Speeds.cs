using System.Globalization;

namespace HilRunner.Core.Runs;

/// <summary>The words for the speed of a run.</summary>
public static class Speeds
{
    public const string Real = "real";
    public const string Max = "max";

    /// <summary>Stimulus seconds per host second; null for max.</summary>
    /// <exception cref="FormatException">Not real, max or a factor such as 4x (0.1x to 1000x).</exception>
    public static decimal? Factor(string speed)
    {
        if (speed == Real) { return 1; }
        if (speed == Max) { return null; }
        if (speed.EndsWith('x')
            && decimal.TryParse(speed.AsSpan(0, speed.Length - 1), NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out decimal factor)
            && factor is >= 0.1m and <= 1000m)
        {
            return factor;
        }
        throw new FormatException($"speed '{speed}': expected real, max or a factor from 0.1x to 1000x, for instance 4x");
    }
}
