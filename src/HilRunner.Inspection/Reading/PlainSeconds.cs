namespace HilRunner.Inspection.Reading;

/// <summary>Seconds written with digits and at most one point, up to nine decimals: the usual case, several times faster than through decimal.</summary>
internal static class PlainSeconds
{
    /// <summary>False: not of that form; the general reader decides.</summary>
    public static bool TryNs(ReadOnlySpan<char> cell, out long ns)
    {
        ns = 0;
        // 9·10⁹ s is the largest time; eighteen digits never overflow.
        if (cell.Length is 0 or > 18) { return false; }
        int decimals = -1;
        foreach (char c in cell)
        {
            if (c == '.')
            {
                if (decimals >= 0) { return false; }
                decimals = 0;
                continue;
            }
            if (!char.IsAsciiDigit(c)) { return false; }
            ns = ns * 10 + (c - '0');
            if (decimals >= 0) { decimals++; }
        }
        if (decimals > 9 || (decimals == 0 && cell.Length == 1)) { return false; }
        int digits = decimals < 0 ? cell.Length : cell.Length - 1 - decimals;
        if (digits > 9) { return false; }
        for (int i = Math.Max(decimals, 0); i < 9; i++) { ns *= 10; }
        return true;
    }
}
