using System.Text;
using HilRunner.Core.Capture;

namespace HilRunner.Transport.Capture;

/// <summary>
/// A run event as the text of one packet: <c>name key=value key=value</c>, UTF-8, so that a general packet tool shows it. In all three a
/// space, '=', '%' and control characters are written as % and two hexadecimal digits (as in RFC 3986 section 2.1).
/// </summary>
internal static class EventText
{
    /// <summary>Most bytes the event can become.</summary>
    public static int MaxLength(string name, ReadOnlySpan<(string Key, string Value)> details)
    {
        // Three bytes for a UTF-16 unit: the longest UTF-8 form, and the length of an escape.
        long length = 3L * name.Length;
        foreach ((string key, string value) in details) { length += 2 + 3L * (key.Length + (long)value.Length); }
        return length > PcapNg.LargestBlock / 2
            ? throw new ArgumentException($"event \"{name}\" has details of {length} bytes; at most {PcapNg.LargestBlock / 2} fit", nameof(details))
            : (int)length;
    }

    public static int Write(string name, ReadOnlySpan<(string Key, string Value)> details, Span<byte> destination)
    {
        int written = Escape(name, destination);
        foreach ((string key, string value) in details)
        {
            destination[written++] = (byte)' ';
            written += Escape(key, destination[written..]);
            destination[written++] = (byte)'=';
            written += Escape(value, destination[written..]);
        }
        return written;
    }

    /// <exception cref="FormatException">Not such a text.</exception>
    public static RunEvent Parse(ReadOnlySpan<byte> text)
    {
        var details = new Dictionary<string, string>(StringComparer.Ordinal);
        string? name = null;
        foreach (Range range in text.Split((byte)' '))
        {
            ReadOnlySpan<byte> word = text[range];
            if (name is null)
            {
                name = Unescape(word);
                continue;
            }
            int equals = word.IndexOf((byte)'=');
            if (equals < 0) { throw new FormatException($"event \"{name}\" has a detail without '='"); }
            details[Unescape(word[..equals])] = Unescape(word[(equals + 1)..]);
        }
        return new(name ?? "", details);
    }

    private static int Escape(string text, Span<byte> destination)
    {
        int written = 0;
        foreach (Rune rune in text.EnumerateRunes())
        {
            if (rune.Value is <= ' ' or '=' or '%' or 0x7F)
            {
                destination[written++] = (byte)'%';
                destination[written++] = Digit(rune.Value >> 4);
                destination[written++] = Digit(rune.Value & 15);
            }
            else { written += rune.EncodeToUtf8(destination[written..]); }
        }
        return written;
    }

    private static byte Digit(int value) => (byte)"0123456789ABCDEF"[value];

    private static string Unescape(ReadOnlySpan<byte> text)
    {
        if (!text.Contains((byte)'%')) { return Encoding.UTF8.GetString(text); }
        byte[] plain = new byte[text.Length];
        int written = 0;
        for (int read = 0; read < text.Length; read++)
        {
            if (text[read] != '%') { plain[written++] = text[read]; }
            else if (read + 2 < text.Length && char.IsAsciiHexDigit((char)text[read + 1]) && char.IsAsciiHexDigit((char)text[read + 2]))
            {
                plain[written++] = Convert.FromHexString(Encoding.ASCII.GetString(text.Slice(read + 1, 2)))[0];
                read += 2;
            }
            else { throw new FormatException("an event has a % without two hexadecimal digits"); }
        }
        return Encoding.UTF8.GetString(plain, 0, written);
    }
}
