using System.Globalization;

namespace HilRunner.Core.Recordings.Import;

/// <summary>
/// Numbers as they stand in a log. Their digits go into the recording as they are (with a decimal point), so that nothing is
/// rounded on the way; a value is made beside them for figures and checks.
/// </summary>
internal static class NumberText
{
    /// <summary>Longest number, in characters.</summary>
    public const int Longest = 64;

    private const int ExactDigits = 15;

    private static readonly double[] s_powers = [.. Enumerable.Range(0, 23).Select(p => double.Parse($"1e{p}", CultureInfo.InvariantCulture))];

    /// <param name="cell">Of the file; blanks and quotation marks around it do not count.</param>
    /// <param name="decimalComma">The decimal mark is a comma, and a point is none.</param>
    /// <param name="text">Receives the number with a decimal point; at least <see cref="Longest"/> characters.</param>
    /// <returns>Length of the text; 0: no finite number below 10⁹ in magnitude.</returns>
    public static int Read(ReadOnlySpan<char> cell, bool decimalComma, Span<char> text, out double value)
    {
        value = 0;
        cell = Bare(cell);
        if (cell.Length is 0 or > Longest) { return 0; }
        char mark = decimalComma ? ',' : '.';
        ulong digits = 0;
        int count = 0, scale = -1;
        bool plain = true;
        for (int i = 0; i < cell.Length; i++)
        {
            char c = cell[i];
            if (char.IsAsciiDigit(c))
            {
                if (count < 19) { digits = digits * 10 + (ulong)(c - '0'); }
                if (digits > 0) { count++; }
                if (scale >= 0) { scale++; }
                text[i] = c;
                continue;
            }
            if (c == mark && scale < 0)
            {
                scale = 0;
                text[i] = '.';
                continue;
            }
            if (decimalComma && c == '.') { return 0; }
            plain &= i == 0 && c is '-' or '+';
            text[i] = c;
        }
        scale = Math.Max(0, scale);
        if (plain && count <= ExactDigits && scale < s_powers.Length && char.IsAsciiDigit(cell[^1]))
        {
            // Both are exact in a double, so the quotient is the nearest one (Clinger 1990, the fast path).
            value = digits / s_powers[scale];
            if (cell[0] == '-') { value = -value; }
        }
        else if (!double.TryParse(text[..cell.Length], NumberStyles.Float, CultureInfo.InvariantCulture, out value)) { return 0; }
        return Math.Abs(value) <= CsvText.LargestValue ? cell.Length : 0;
    }

    /// <summary>The number times a factor, in exact decimal arithmetic where 28 digits hold it, else as the nearest double.</summary>
    /// <param name="text">A number with a decimal point; is replaced.</param>
    /// <returns>The new length.</returns>
    public static int Multiply(Span<char> text, int length, decimal factor, ref double value)
    {
        value *= (double)factor;
        int written;
        if (decimal.TryParse(text[..length], NumberStyles.Float, CultureInfo.InvariantCulture, out decimal number)
            && DigitsOf(number) + DigitsOf(factor) <= 28 && (number * factor).TryFormat(text, out written, default, CultureInfo.InvariantCulture))
        {
            return written;
        }
        value.TryFormat(text, out written, "R", CultureInfo.InvariantCulture);
        return written;
    }

    /// <summary>Without blanks and quotation marks around it.</summary>
    public static ReadOnlySpan<char> Bare(ReadOnlySpan<char> cell)
    {
        cell = cell.Trim();
        return cell.Length >= 2 && cell[0] == '"' && cell[^1] == '"' ? cell[1..^1].Trim() : cell;
    }

    /// <summary>Of the unscaled value, zeros behind included; and no fewer than the scale.</summary>
    private static int DigitsOf(decimal x)
    {
        Span<int> bits = stackalloc int[4];
        decimal.GetBits(x, bits);
        decimal unscaled = new(bits[0], bits[1], bits[2], false, 0);
        int digits = 1;
        while (unscaled >= 10)
        {
            unscaled = decimal.Truncate(unscaled / 10);
            digits++;
        }
        return Math.Max(digits, x.Scale);
    }
}
