using System.Globalization;

namespace HilRunner.Core.Recordings;

/// <summary>Cells as RFC 4180 quotes them, and numbers in them.</summary>
internal static class CsvText
{
    /// <summary>Beyond this magnitude no acceleration or turning rate lies; it keeps all later arithmetic finite.</summary>
    public const double LargestValue = 1e9;

    /// <summary>The content of a cell: without its quotes when quoted, else without blanks around it.</summary>
    public static string Unquote(ReadOnlySpan<char> cell)
    {
        var inner = cell.Trim();
        return inner.Length >= 2 && inner[0] == '"' && inner[^1] == '"'
            ? inner[1..^1].ToString().Replace("\"\"", "\"", StringComparison.Ordinal)
            : inner.ToString();
    }

    /// <summary>The cell that holds <paramref name="text"/>: quoted where it must be.</summary>
    public static string Quote(string text)
    {
        bool plain = text.Length > 0 && text.AsSpan().IndexOfAny(",\"\r\n") < 0 && text.AsSpan().Trim().Length == text.Length;
        return plain ? text : $"\"{text.Replace("\"", "\"\"", StringComparison.Ordinal)}\"";
    }

    public static bool TryNumber(ReadOnlySpan<char> cell, out double value) =>
        double.TryParse(Bare(cell), NumberStyles.Float, CultureInfo.InvariantCulture, out value)
        && Math.Abs(value) <= LargestValue;

    /// <summary>
    /// Largest time, in seconds: a century and a half, so that the nanoseconds between any two of them fit into 64 bits.
    /// </summary>
    public const long LargestSeconds = 4_600_000_000;

    /// <summary>Seconds, exactly to the nanosecond; within ±<see cref="LargestSeconds"/>, else false and 0.</summary>
    public static bool TrySeconds(ReadOnlySpan<char> cell, out decimal seconds)
    {
        if (decimal.TryParse(Bare(cell), NumberStyles.Float, CultureInfo.InvariantCulture, out seconds)
            && Math.Abs(seconds) <= LargestSeconds)
        {
            return true;
        }
        seconds = 0;
        return false;
    }

    /// <summary>What to do about a time that is none of seconds; "" where nothing is known.</summary>
    public static string SecondsRemedy(ReadOnlySpan<char> cell) =>
        double.TryParse(Bare(cell), NumberStyles.Float, CultureInfo.InvariantCulture, out double value)
        && Math.Abs(value) > LargestSeconds
        ? "stamps in milliseconds, microseconds or nanoseconds are made seconds by hil import --time ms, us or ns" : "";

    private static ReadOnlySpan<char> Bare(ReadOnlySpan<char> cell)
    {
        var inner = cell.Trim();
        return inner.Length >= 2 && inner[0] == '"' && inner[^1] == '"' ? inner[1..^1] : inner;
    }
}
