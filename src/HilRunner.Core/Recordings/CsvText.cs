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

    /// <summary>Seconds, exactly to the nanosecond; within ±9·10⁹ s so that nanoseconds fit.</summary>
    public static bool TrySeconds(ReadOnlySpan<char> cell, out decimal seconds) =>
        decimal.TryParse(Bare(cell), NumberStyles.Float, CultureInfo.InvariantCulture, out seconds)
        && Math.Abs(seconds) <= 9_000_000_000m;

    private static ReadOnlySpan<char> Bare(ReadOnlySpan<char> cell)
    {
        var inner = cell.Trim();
        return inner.Length >= 2 && inner[0] == '"' && inner[^1] == '"' ? inner[1..^1] : inner;
    }
}
