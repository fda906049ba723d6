using System.Globalization;
using System.Text.RegularExpressions;

namespace HilRunner.Core.Documents;

/// <summary>
/// A number with its unit, as written in files and on the command line: <c>12 s</c>, <c>200ms</c>, <c>0.3 g</c>, <c>-20 ppm</c>.
/// The blank between them may be left out; the unit may not (but for shares). Arithmetic is decimal, so durations are exact.
/// </summary>
public static partial class Quantity
{
    /// <summary>Nanoseconds; rounded to the nearest one, ties away from zero.</summary>
    /// <exception cref="FormatException">No duration; says what was expected.</exception>
    public static long DurationNs(string text)
    {
        decimal ns = decimal.Round(Parse(text, UnitKind.Duration), 0, MidpointRounding.AwayFromZero);
        return Math.Abs(ns) <= long.MaxValue ? (long)ns : throw new FormatException($"\"{text}\" is longer than 292 years");
    }

    /// <summary>Rounded to the nearest 100 ns.</summary>
    /// <exception cref="FormatException">No duration; says what was expected.</exception>
    public static TimeSpan Duration(string text) => TimeSpan.FromTicks((long)Math.Round(DurationNs(text) / 100m, MidpointRounding.AwayFromZero));

    /// <exception cref="FormatException">No frequency, or not of whole millihertz from 1 mHz to 10 MHz; says what was expected.</exception>
    public static Time.SampleRate Rate(string text)
    {
        decimal milliHertz = Parse(text, UnitKind.Frequency);
        if (milliHertz is < 1 or > 10_000_000_000 || milliHertz != decimal.Truncate(milliHertz))
        {
            throw new FormatException($"\"{text}\" is not a rate of whole millihertz from 1 mHz to 10000 kHz");
        }
        return new((long)milliHertz);
    }

    /// <summary>In g.</summary>
    /// <exception cref="FormatException">No acceleration; says what was expected.</exception>
    public static double AccelerationG(string text) => (double)Parse(text, UnitKind.Acceleration);

    /// <summary>In degrees.</summary>
    /// <exception cref="FormatException">No angle; says what was expected.</exception>
    public static double AngleDegrees(string text) => (double)Parse(text, UnitKind.Angle);

    internal static decimal Parse(string text, UnitKind kind)
    {
        string? fault = TryParse(text, kind, out decimal value);
        return fault is null ? value : throw new FormatException($"{fault}; expected {kind.Expected}");
    }

    /// <summary>Null when it went well; else what was found.</summary>
    internal static string? TryParse(string text, UnitKind kind, out decimal value)
    {
        value = 0;
        Match match = Form().Match(text);
        if (!match.Success) { return $"\"{text}\""; }
        string unit = match.Groups["unit"].Value;
        decimal factor = 1;
        if (unit.Length == 0 && kind != UnitKind.Share) { return $"\"{text}\" without a unit"; }
        if (unit.Length > 0 && !kind.Factors.TryGetValue(unit, out factor))
        {
            return $"the unit \"{unit}\" in \"{text}\" (known here: {string.Join(", ", kind.Factors.Keys)})";
        }
        try
        {
            value = decimal.Parse(match.Groups["number"].Value, NumberStyles.Float, CultureInfo.InvariantCulture) * factor;
            return null;
        }
        catch (OverflowException)
        {
            return $"the number in \"{text}\", which is out of all reason";
        }
    }

    /// <summary>The pattern of a quantity of this kind, for the schema: what it refuses, the reader refuses.</summary>
    internal static string Pattern(UnitKind kind) =>
        $"^{NumberForm} ?({string.Join('|', kind.Factors.Keys.Select(Regex.Escape))}){(kind == UnitKind.Share ? "?" : "")}$";

    private const string NumberForm = @"[-+]?([0-9]{1,20}(\.[0-9]{0,20})?|\.[0-9]{1,20})([eE][-+]?[0-9]{1,2})?";

    [GeneratedRegex($@"^(?<number>{NumberForm}) ?(?<unit>[^\s\d.+-]\S*)?\z", RegexOptions.CultureInvariant)]
    private static partial Regex Form();
}
