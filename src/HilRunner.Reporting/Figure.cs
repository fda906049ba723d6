using System.Globalization;
using HilRunner.Core.Scenarios;

namespace HilRunner.Reporting;

/// <summary>
/// Figures as people read them: always with a unit, and with no more digits than the uncertainty deserves. Two significant
/// digits of the uncertainty, the value to match (JCGM 100:2008, 7.2.6). An absent figure is "—", never 0.
/// </summary>
public static class Figure
{
    public const string Absent = "—";
    private static readonly CultureInfo Invariant = CultureInfo.InvariantCulture;

    /// <summary>"1.234 ± 0.012 s". Without an uncertainty (null, 0 or not finite) three significant digits, at least whole units.</summary>
    /// <param name="uncertainty">In the unit of the value; its sign does not count.</param>
    /// <param name="unit">"" for none.</param>
    public static string With(double? value, double? uncertainty, string unit)
    {
        ArgumentNullException.ThrowIfNull(unit);
        if (value is not { } v || double.IsNaN(v)) { return Absent; }
        string tail = unit.Length == 0 ? "" : " " + unit;
        if (double.IsInfinity(v)) { return (v > 0 ? "∞" : "−∞") + tail; }
        double u = Math.Abs(uncertainty ?? 0);
        if (u == 0 || !double.IsFinite(u)) { return Signed(Plain(v)) + tail; }
        int decimals = DecimalsOf(u);
        return $"{Signed(Rounded(v, decimals))} ± {Rounded(u, decimals)}{tail}";
    }

    /// <summary>The number alone, with the digits that its uncertainty deserves; three decimals where none is known. For columns of one unit.</summary>
    public static string Matching(double? value, double? uncertainty)
    {
        double u = Math.Abs(uncertainty ?? 0);
        if (value is not { } v || !double.IsFinite(v) || u == 0 || !double.IsFinite(u)) { return Decimals(value, 3); }
        return Signed(Rounded(v, DecimalsOf(u)));
    }

    /// <summary>The number alone, with so many decimals.</summary>
    public static string Decimals(double? value, int decimals) => value is { } v && double.IsFinite(v) ? Signed(Rounded(v, decimals)) : Absent;

    /// <summary>An uncertainty in time, two significant digits: "0.41 ms". In seconds.</summary>
    public static string Uncertainty(double? seconds)
    {
        if (seconds is not { } s || !double.IsFinite(s)) { return Absent; }
        double u = Math.Abs(s);
        if (u == 0) { return "0 s"; }
        (double scale, string unit) = u < 1e-6 ? (1e9, "ns") : u < 1e-3 ? (1e6, "µs") : u < 1 ? (1e3, "ms") : (1, "s");
        return $"{Rounded(u * scale, DecimalsOf(u * scale))} {unit}";
    }

    /// <summary>A time in s or, below 1 s, in ms. <paramref name="uncertainty"/> in seconds.</summary>
    public static string Seconds(double? seconds, double? uncertainty = null)
    {
        if (seconds is not { } s || !double.IsFinite(s)) { return With(seconds, uncertainty, "s"); }
        return s != 0 && Math.Abs(s) < 0.9995 ? With(s * 1000, uncertainty * 1000, "ms") : With(s, uncertainty, "s");
    }

    /// <summary>As <see cref="Seconds"/>, from exact nanoseconds.</summary>
    public static string Nanoseconds(long? ns, long? uncertaintyNs = null)
    {
        if (ns is { } n && n != 0 && Math.Abs(n) < 1_000_000) { return With(n / 1e3, uncertaintyNs / 1e3, "µs"); }
        return Seconds(ns / 1e9, uncertaintyNs / 1e9);
    }

    /// <summary>A place on the time axis: "12.34 s", from 10 min on "1:02:03.4".</summary>
    public static string At(long ns)
    {
        decimal s = ns / 1e9m;
        if (Math.Abs(s) < 600) { return Signed(decimal.Round(s, 3).ToString("0.0##", Invariant)) + " s"; }
        decimal tenths = decimal.Round(Math.Abs(s) * 10);
        long whole = (long)(tenths / 10);
        return string.Create(Invariant, $"{(s < 0 ? "−" : "")}{whole / 3600}:{whole / 60 % 60:00}:{whole % 60:00}.{tenths % 10:0}");
    }

    /// <summary>A share of 1 as per cent: "89.1 %".</summary>
    public static string Share(double? share) => share is { } s && double.IsFinite(s) ? (s * 100).ToString("0.0", Invariant) + " %" : Absent;

    /// <summary>"41 of 46 (89.1 %)"; the share is left out where nothing was counted.</summary>
    public static string Of(int k, int n) => n == 0 ? "0 of 0" : string.Create(Invariant, $"{k} of {n} ({Share((double)k / n)})");

    /// <summary>A figure of a limit, in the unit of its measure.</summary>
    public static string Of(Measure measure, double? value) => measure switch
    {
        Measure.Accuracy or Measure.BalancedAccuracy or Measure.Recall or Measure.Precision or Measure.F1 or Measure.Recognised => Share(value),
        Measure.Reaction or Measure.Settling or Measure.ReportLatency or Measure.ShortestDwell => Seconds(value),
        Measure.ChatterPerMinute or Measure.SurplusPerMinute => With(value, null, "/min"),
        Measure.FalseAlarmsPerHour => With(value, null, "/h"),
        Measure.DeviceClockPpm => With(value, null, "ppm"),
        _ => With(value, null, ""),
    };

    /// <summary>Decimals at which <paramref name="u"/> keeps two significant digits; negative: tens, hundreds …</summary>
    private static int DecimalsOf(double u)
    {
        int decimals = 1 - (int)Math.Floor(Math.Log10(u));
        // 0.0996 rounds to 0.10, not 0.100: look again after rounding.
        double rounded = double.Parse(Rounded(u, decimals), Invariant);
        return Math.Min(1 - (int)Math.Floor(Math.Log10(rounded) + 1e-12), decimals);
    }

    private static string Rounded(double v, int decimals)
    {
        if (decimals >= 0) { return v.ToString("F" + Math.Min(decimals, 15).ToString(Invariant), Invariant); }
        double step = Math.Pow(10, -decimals);
        return (Math.Round(v / step, MidpointRounding.AwayFromZero) * step).ToString("F0", Invariant);
    }

    private static string Plain(double v)
    {
        if (v == Math.Floor(v) && Math.Abs(v) < 1e15) { return v.ToString("F0", Invariant); }
        int decimals = Math.Clamp(2 - (int)Math.Floor(Math.Log10(Math.Abs(v))), 0, 9);
        // 0.9997 is 1.00, not 1.000: look again after rounding.
        double rounded = Math.Abs(double.Parse(Rounded(v, decimals), Invariant));
        if (rounded > 0) { decimals = Math.Clamp(2 - (int)Math.Floor(Math.Log10(rounded) + 1e-12), 0, decimals); }
        return Rounded(v, decimals);
    }

    /// <summary>A true minus sign, and no minus before a zero.</summary>
    private static string Signed(string number)
    {
        if (number[0] != '-') { return number; }
        return number.AsSpan(1).ContainsAnyExcept('0', '.') ? "−" + number[1..] : number[1..];
    }
}
