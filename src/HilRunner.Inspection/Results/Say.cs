using System.Globalization;

namespace HilRunner.Inspection.Results;

/// <summary>Numbers in sentences: enough digits to act on, always with a unit.</summary>
internal static class Say
{
    /// <summary>Three significant digits or all whole ones, without an exponent.</summary>
    public static string Number(double value)
    {
        if (value == 0 || !double.IsFinite(value)) { return value == 0 ? "0" : "—"; }
        int decimals = Math.Clamp(2 - (int)Math.Floor(Math.Log10(Math.Abs(value))), 0, 9);
        string text = value.ToString("F" + decimals.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);
        return text[0] == '-' ? "−" + text[1..] : text;
    }

    public static string Fixed(double value, int decimals)
    {
        string text = value.ToString("F" + decimals.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);
        return text[0] == '-' ? "−" + text[1..] : text;
    }

    /// <summary>A duration or a distance in time.</summary>
    public static string Seconds(double seconds) => Math.Abs(seconds) switch
    {
        0 => "0 s",
        < 1e-3 => Number(seconds * 1e6) + " µs",
        < 1 => Number(seconds * 1e3) + " ms",
        _ => Number(seconds) + " s",
    };

    /// <summary>A place in the recording.</summary>
    public static string At(long ns) => (ns / 1e9m).ToString("0.00#", CultureInfo.InvariantCulture) + " s";

    public static string G(double g) => Math.Abs(g) < 0.1 ? Number(g * 1000) + " mg" : Number(g) + " g";

    public static string Share(double share) => share is > 0 and < 0.001 ? "under 0.1 %" : Fixed(share * 100, 1) + " %";

    /// <summary>"1 gap", "3 gaps".</summary>
    public static string Count(long n, string one, string? many = null) =>
        string.Create(CultureInfo.InvariantCulture, $"{n} {(n == 1 ? one : many ?? one + "s")}");
}
