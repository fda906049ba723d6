namespace HilRunner.Core.Recordings.Import;

/// <summary>
/// Moments as ISO 8601-1:2019 writes them in full: 2026-11-25T07:00:00.123456789+01:00. A blank may stand for the T, a comma for
/// the point; without a zone the time is taken as it stands, as if it were UTC. A second 60 is no moment of this clock.
/// </summary>
internal static class IsoStamp
{
    /// <param name="ns">Since 1970.</param>
    public static bool TryRead(ReadOnlySpan<char> text, out long ns)
    {
        ns = 0;
        if (text.Length < 19 || text[4] != '-' || text[7] != '-' || text[10] is not ('T' or 't' or ' ') || text[13] != ':' || text[16] != ':') { return false; }
        if (!Digits(text[..4], out int year) || !Digits(text[5..7], out int month) || !Digits(text[8..10], out int day)
            || !Digits(text[11..13], out int hour) || !Digits(text[14..16], out int minute) || !Digits(text[17..19], out int second))
        {
            return false;
        }
        if (year is < 1700 or > 2200 || month is < 1 or > 12 || day < 1 || day > DateTime.DaysInMonth(year, month) || hour > 23 || minute > 59 || second > 59) { return false; }
        text = text[19..];
        long fraction = 0;
        if (text.Length > 0 && text[0] is '.' or ',')
        {
            int end = 1;
            while (end < text.Length && char.IsAsciiDigit(text[end])) { end++; }
            if (end == 1 || end > 31) { return false; }
            for (int i = 1; i <= 9; i++) { fraction = fraction * 10 + (i < end ? text[i] - '0' : 0); }
            text = text[end..];
        }
        if (!Zone(text, out long zoneMinutes)) { return false; }
        long seconds = (new DateTime(year, month, day, hour, minute, second, DateTimeKind.Utc) - DateTime.UnixEpoch).Ticks / TimeSpan.TicksPerSecond - zoneMinutes * 60;
        ns = seconds * 1_000_000_000 + fraction;
        return true;
    }

    private static bool Zone(ReadOnlySpan<char> text, out long minutes)
    {
        minutes = 0;
        if (text.Length == 0 || text is "Z" or "z") { return true; }
        int sign = text[0] == '+' ? 1 : text[0] == '-' ? -1 : 0;
        text = text[1..];
        ReadOnlySpan<char> rest = text.Length == 5 && text[2] == ':' ? text[3..] : text.Length == 4 ? text[2..] : text.Length == 2 ? "00" : "x";
        if (sign == 0 || text.Length < 2 || !Digits(text[..2], out int hours) || !Digits(rest, out int more) || hours > 23 || more > 59) { return false; }
        minutes = sign * (hours * 60 + more);
        return true;
    }

    private static bool Digits(ReadOnlySpan<char> text, out int value)
    {
        value = 0;
        foreach (char c in text)
        {
            if (!char.IsAsciiDigit(c)) { return false; }
            value = value * 10 + (c - '0');
        }
        return text.Length > 0;
    }
}
