using System.Globalization;

namespace HilRunner.Core.Recordings.Parquet;

/// <summary>
/// What the numbers of a column look like as text, found over all of them: whether a decimal with one scale holds them so that
/// the same text comes back.
/// </summary>
internal sealed class NumberForm
{
    /// <summary>Digits of a decimal column: what <see cref="decimal"/> holds for sure.</summary>
    public const int MostDigits = 28;

    /// <summary>Of numbers that no decimal column holds for sure.</summary>
    public static NumberForm Double { get; } = new() { _plain = false };

    /// <summary>Of times in seconds to the nanosecond, without zeros behind.</summary>
    public static NumberForm Seconds { get; } = new() { _fewestDecimals = 0, Scale = 9, _wholeDigits = 9 };

    private int _fewestDecimals = int.MaxValue;
    private int _wholeDigits = 1;
    private bool _plain = true;
    private bool _trimmed = true;
    private bool _shortest = true;

    /// <summary>Most decimals of a number.</summary>
    public int Scale { get; private set; }

    /// <summary>The digits of the largest number with all decimals.</summary>
    public int Precision => _wholeDigits + Scale;

    /// <summary>fixed, trimmed, or null: no decimal column gives the text back.</summary>
    public string? Decimal => !_plain || Precision > MostDigits ? null
        : Scale == 0 || _fewestDecimals == Scale ? ParquetMetadata.Fixed
        : _trimmed ? ParquetMetadata.Trimmed : null;

    /// <summary>A double gives every text back in its shortest form.</summary>
    public bool Shortest => _shortest;

    public void Add(ReadOnlySpan<char> text, double value)
    {
        var digits = text.Length > 0 && text[0] == '-' ? text[1..] : text;
        int point = digits.IndexOf('.');
        int whole = point < 0 ? digits.Length : point, decimals = point < 0 ? 0 : digits.Length - point - 1;
        bool plain = whole > 0 && point != digits.Length - 1 && digits.IndexOfAnyExcept("0123456789.") < 0 && (whole == 1 || digits[0] != '0')
            && !(text[0] == '-' && digits.IndexOfAnyExcept("0.") < 0);
        bool trimmed = decimals == 0 || digits[^1] != '0';
        if (_shortest)
        {
            bool surely = plain && trimmed && whole + decimals <= 15 && (decimals <= 4 || Math.Abs(value) >= 1e-4);
            _shortest = surely || IsShortest(text, value);
        }
        _plain &= plain;
        _trimmed &= trimmed;
        if (!plain) { return; }
        _fewestDecimals = Math.Min(_fewestDecimals, decimals);
        Scale = Math.Max(Scale, decimals);
        _wholeDigits = Math.Max(_wholeDigits, whole);
    }

    private static bool IsShortest(ReadOnlySpan<char> text, double value)
    {
        Span<char> shortest = stackalloc char[32];
        return value.TryFormat(shortest, out int length, "R", CultureInfo.InvariantCulture) && shortest[..length].SequenceEqual(text);
    }
}
