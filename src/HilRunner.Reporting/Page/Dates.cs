using System.Globalization;

namespace HilRunner.Reporting.Page;

/// <summary>Moments and spans as a person reads them.</summary>
public static class Dates
{
    /// <summary>"2026-11-25 06:12:44 UTC".</summary>
    public static string Of(DateTimeOffset at) => at.UtcDateTime.ToString("yyyy-MM-dd HH:mm:ss 'UTC'", CultureInfo.InvariantCulture);

    /// <summary>"1 h 02 min", "3 min 20 s", "12.3 s".</summary>
    public static string Span(TimeSpan span)
    {
        if (span.TotalHours >= 1) { return string.Create(CultureInfo.InvariantCulture, $"{(int)span.TotalHours} h {span.Minutes:00} min"); }
        if (span.TotalMinutes >= 1) { return string.Create(CultureInfo.InvariantCulture, $"{span.Minutes} min {span.Seconds:00} s"); }
        return span.TotalSeconds.ToString("0.0", CultureInfo.InvariantCulture) + " s";
    }
}
