using System.Globalization;
using System.Text.RegularExpressions;
using HilRunner.Core.Documents;

namespace HilRunner.Application.Reproducing;

/// <summary>What <c>--at</c> may be: a moment of the log's clock, of its own time, a sample, or a label.</summary>
internal abstract partial record Moment
{
    public const string Forms =
        "a date and time with its zone (2026-03-02T12:31:07+01:00, or 2026-03-02T12:31:07 Europe/Berlin), a time of day (12:31:07), a time since the log's start (754.2 s), a sample (#37710), or a label (label:bump)";

    /// <summary>By the log's clock, ns since 1970, and how it was read: more than one where the time is ambiguous.</summary>
    public sealed record OnClock(IReadOnlyList<(long Ns, string Said)> Readings) : Moment;

    /// <summary>On every day of the log.</summary>
    public sealed record TimeOfDay(TimeSpan Time) : Moment;

    /// <summary>Since the log's first sample.</summary>
    public sealed record SinceStart(long Ns) : Moment;

    /// <summary>From 0, over the whole log.</summary>
    public sealed record Sample(long Number) : Moment;

    public sealed record Label(string Name) : Moment;

    /// <exception cref="UsageException">None of the forms, or a zone that this machine does not know.</exception>
    public static Moment Parse(string text)
    {
        text = text.Trim();
        if (text.StartsWith('#') && long.TryParse(text.AsSpan(1), NumberStyles.None, CultureInfo.InvariantCulture, out long sample)) { return new Sample(sample); }
        if (text.StartsWith("label:", StringComparison.Ordinal) && text.Length > 6) { return new Label(text[6..]); }
        if (TimeOnly.TryParseExact(text, ["HH:mm:ss.FFFFFFF", "HH:mm:ss", "HH:mm"], CultureInfo.InvariantCulture, DateTimeStyles.None, out var time)) { return new TimeOfDay(time.ToTimeSpan()); }
        if (DateAndTime().Match(text) is { Success: true } stamp) { return new OnClock(ReadingsOf(text, stamp)); }
        try { return new SinceStart(Quantity.DurationNs(text)); }
        catch (FormatException) { throw new UsageException($"--at {text}: expected {Forms}"); }
    }

    private static List<(long Ns, string Said)> ReadingsOf(string text, Match stamp)
    {
        if (!DateTime.TryParse(stamp.Groups["face"].Value, CultureInfo.InvariantCulture, DateTimeStyles.None, out var face)) { throw new UsageException($"--at {text}: no such date; expected {Forms}"); }
        string zone = stamp.Groups["zone"].Value.Trim();
        if (zone is "Z" or "z" or "UTC") { return [(NsOf(face, TimeSpan.Zero), "in UTC")]; }
        if (stamp.Groups["sign"].Success)
        {
            var offset = new TimeSpan(int.Parse(stamp.Groups["hours"].Value, CultureInfo.InvariantCulture), stamp.Groups["minutes"].Success ? int.Parse(stamp.Groups["minutes"].Value, CultureInfo.InvariantCulture) : 0, 0);
            return [(NsOf(face, stamp.Groups["sign"].Value == "-" ? -offset : offset), $"at UTC{zone}")];
        }
        if (zone.Length == 0)
        {
            var readings = new List<(long, string)> { (NsOf(face, TimeSpan.Zero), "by the face of the log's clock (UTC where the log has no zone)") };
            foreach (var offset in Offsets(face, TimeZoneInfo.Local).Where(o => o != TimeSpan.Zero)) { readings.Add((NsOf(face, offset), $"in this machine's zone, UTC{Signed(offset)}")); }
            return readings;
        }
        if (!TimeZoneInfo.TryFindSystemTimeZoneById(zone, out var known)) { throw new UsageException($"--at {text}: this machine knows no zone {zone}; expected an offset such as +01:00, Z, or a name such as Europe/Berlin"); }
        if (known.IsInvalidTime(face)) { throw new UsageException($"--at {text}: that time did not exist in {zone}: clocks went forward over it"); }
        return [.. Offsets(face, known).Select(o => (NsOf(face, o), $"in {zone} at UTC{Signed(o)}"))];
    }

    private static IEnumerable<TimeSpan> Offsets(DateTime face, TimeZoneInfo zone) => zone.IsAmbiguousTime(face) ? zone.GetAmbiguousTimeOffsets(face) : [zone.GetUtcOffset(face)];

    private static string Signed(TimeSpan offset) => (offset < TimeSpan.Zero ? "-" : "+") + offset.ToString(@"hh\:mm", CultureInfo.InvariantCulture);

    private static long NsOf(DateTime face, TimeSpan offset) => (face - offset - DateTime.UnixEpoch).Ticks * 100;

    [GeneratedRegex(@"^(?<face>\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d([.,]\d{1,7})?)?)\s*(?<zone>(?<sign>[+-])(?<hours>\d\d):?(?<minutes>\d\d)?|Z|z|[A-Za-z][\w+/-]*|)$")]
    private static partial Regex DateAndTime();
}
