using System.Globalization;

namespace HilRunner.Core.Recordings.Import;

/// <summary>Cells of a time column → nanoseconds, exact to the nearest one. A counter that wraps is made to count on.</summary>
internal sealed class StampReader(ImportTime time, bool decimalComma)
{
    private readonly long _unitNs = time.UnitNs == decimal.Truncate(time.UnitNs) ? (long)time.UnitNs : 0;
    private ulong _lastCount;
    private Int128 _total;
    private bool _started;

    /// <summary>As an error names it.</summary>
    public string Expected => time.Unit switch
    {
        "iso" => "an ISO 8601 time such as 2026-11-25T07:00:00.123Z",
        "ticks" when time.Bits > 0 => FormattableString.Invariant($"a whole number of {time.Bits} bits"),
        "ticks" => "a whole number of ticks",
        _ => $"a number of {time.Unit}, within 292 years of 0",
    };

    public bool TryRead(ReadOnlySpan<char> cell, out long ns)
    {
        cell = NumberText.Bare(cell);
        if (time.Unit == "iso") { return IsoStamp.TryRead(cell, out ns); }
        if (time.Unit == "ticks") { return TryTicks(cell, out ns); }
        return TryNumber(cell, out ns);
    }

    /// <summary>Fixed-point by hand: exact, and the one cell of every row that decides over its place.</summary>
    private bool TryNumber(ReadOnlySpan<char> cell, out long ns)
    {
        ns = 0;
        Int128 digits = 0;
        int count = 0, scale = -1, at = 0;
        bool negative = cell.Length > 0 && cell[0] == '-';
        if (cell.Length > 0 && cell[0] is '-' or '+') { at++; }
        for (; at < cell.Length; at++)
        {
            char c = cell[at];
            if (char.IsAsciiDigit(c))
            {
                if (++count > 28) { return false; }
                digits = digits * 10 + (c - '0');
                if (scale >= 0) { scale++; }
            }
            else if (c == (decimalComma ? ',' : '.') && scale < 0) { scale = 0; }
            else { return !decimalComma && TryExponent(cell, out ns); }
        }
        if (count == 0) { return false; }
        Int128 divide = 1;
        for (int i = 0; i < scale; i++) { divide *= 10; }
        if (digits / divide > long.MaxValue) { return false; }
        Int128 scaled = (digits * _unitNs + divide / 2) / divide;
        if (scaled > long.MaxValue / 2) { return false; }
        ns = (long)(negative ? -scaled : scaled);
        return true;
    }

    private bool TryExponent(ReadOnlySpan<char> cell, out long ns)
    {
        ns = 0;
        if (!decimal.TryParse(cell, NumberStyles.Float, CultureInfo.InvariantCulture, out decimal value) || Math.Abs(value) > 4e18m / _unitNs) { return false; }
        ns = (long)decimal.Round(value * _unitNs, 0, MidpointRounding.AwayFromZero);
        return true;
    }

    private bool TryTicks(ReadOnlySpan<char> cell, out long ns)
    {
        ns = 0;
        if (!ulong.TryParse(cell, NumberStyles.None, CultureInfo.InvariantCulture, out ulong count)) { return false; }
        if (time.Bits > 0)
        {
            ulong span = 1UL << time.Bits;
            if (count >= span) { return false; }
            // The shorter way round: more than half a turn forward is taken for a jump back.
            ulong forward = unchecked(count - _lastCount) & (span - 1);
            _total += !_started ? count : forward <= span / 2 ? (Int128)forward : (Int128)forward - span;
        }
        else { _total = count; }
        (_lastCount, _started) = (count, true);
        if (_total > long.MaxValue || _total < long.MinValue) { return false; }
        decimal exact = (decimal)_total;
        if (Math.Abs(exact) > 4e18m / time.UnitNs) { return false; }
        ns = (long)decimal.Round(exact * time.UnitNs, 0, MidpointRounding.AwayFromZero);
        return true;
    }
}
