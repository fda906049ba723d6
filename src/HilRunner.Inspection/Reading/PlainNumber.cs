namespace HilRunner.Inspection.Reading;

/// <summary>
/// Numbers of at most fifteen digits with at most one point: the usual case of a log, several times faster than the general readers and with
/// the same result. Whatever else stands in a cell is theirs.
/// </summary>
internal static class PlainNumber
{
    private static readonly double[] s_powers = [1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];
    private static readonly long[] s_wholePowers = [1, 10, 100, 1_000, 10_000, 100_000, 1_000_000, 10_000_000, 100_000_000, 1_000_000_000];

    /// <summary>
    /// The nearest double: numerator and power of ten are both exact in 53 bits, so that their quotient is rounded once (Clinger, PLDI 1990).
    /// </summary>
    public static bool TryValue(ReadOnlySpan<char> cell, out double value)
    {
        bool plain = TryScan(cell, out long digits, out int decimals, out bool negative);
        value = digits / s_powers[decimals];
        if (negative) { value = -value; }
        return plain && value is <= 1e9 and >= -1e9;
    }

    /// <summary>Seconds as nanoseconds, exactly; up to nine decimals.</summary>
    public static bool TryNs(ReadOnlySpan<char> cell, out long ns)
    {
        ns = 0;
        if (!TryScan(cell, out long digits, out int decimals, out bool negative) || decimals > 9) { return false; }
        if (digits / s_wholePowers[decimals] >= Core.Recordings.CsvText.LargestSeconds) { return false; }
        ns = digits * s_wholePowers[9 - decimals];
        if (negative) { ns = -ns; }
        return true;
    }

    private static bool TryScan(ReadOnlySpan<char> cell, out long digits, out int decimals, out bool negative)
    {
        (digits, decimals, negative) = (0, 0, false);
        int i = 0;
        if (cell.Length > 0 && cell[0] == '-')
        {
            negative = true;
            i = 1;
        }
        int count = 0, point = -1;
        for (; i < cell.Length; i++)
        {
            int digit = cell[i] - '0';
            if ((uint)digit <= 9)
            {
                digits = digits * 10 + digit;
                if (++count > 15) { return Reset(out digits); }
            }
            else if (cell[i] == '.' && point < 0) { point = count; }
            else { return Reset(out digits); }
        }
        if (count == 0) { return false; }
        decimals = point < 0 ? 0 : count - point;
        return true;
    }

    private static bool Reset(out long digits)
    {
        digits = 0;
        return false;
    }
}
