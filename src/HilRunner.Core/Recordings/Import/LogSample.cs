using System.Text.Unicode;

namespace HilRunner.Core.Recordings.Import;

/// <summary>The first bytes of a file, which its form is read off.</summary>
internal sealed class LogSample
{
    /// <summary>Bytes that are looked at.</summary>
    public const int Length = 1 << 18;

    private LogSample(ImportFormat format, TextCoding coding, bool sure, IReadOnlyList<string> lines) => (Format, Coding, CodingIsSure, Lines) = (format, coding, sure, lines);

    public ImportFormat Format { get; }
    public TextCoding Coding { get; }
    public bool CodingIsSure { get; }
    /// <summary>Whole lines, but for the last of a short file; none of a Parquet file.</summary>
    public IReadOnlyList<string> Lines { get; }

    /// <exception cref="BadInputException">No such file, or one that is packed.</exception>
    public static LogSample Of(string path, ImportFormat? format, TextCoding? coding) => InputFile.Using(path, "a log", () =>
    {
        byte[] head = new byte[Length];
        using var file = File.OpenRead(path);
        int length = file.ReadAtLeast(head, Length, throwOnEndOfStream: false);
        var bytes = head.AsSpan(0, length);
        if (format is null && bytes.StartsWith("PAR1"u8)) { format = ImportFormat.Parquet; }
        if (format == ImportFormat.Parquet) { return new LogSample(ImportFormat.Parquet, TextCoding.Utf8, true, []); }
        if (bytes.StartsWith((ReadOnlySpan<byte>)[0x1F, 0x8B]) || bytes.StartsWith("PK\u0003\u0004"u8) || bytes.StartsWith((ReadOnlySpan<byte>)[0x28, 0xB5, 0x2F, 0xFD]))
        {
            throw new BadInputException([new Fault(path, 0, 0, "a packed file", "a text of rows, or Parquet", "unpack it first")]);
        }
        var (found, sure) = coding is { } said ? (said, true) : CodingOf(bytes);
        string text = TextRows.EncodingOf(found).GetString(bytes).TrimStart('\uFEFF');
        string[] lines = text.Split('\n');
        // The last one is cut where the sample is.
        if (length == Length && lines.Length > 1) { lines = lines[..^1]; }
        string[] trimmed = [.. lines.Select(l => l.TrimEnd('\r'))];
        bool json = trimmed.FirstOrDefault(l => !string.IsNullOrWhiteSpace(l))?.TrimStart().StartsWith('{') ?? false;
        return new LogSample(format ?? (json ? ImportFormat.JsonLines : ImportFormat.Text), found, sure, trimmed);
    });

    private static (TextCoding, bool Sure) CodingOf(ReadOnlySpan<byte> bytes)
    {
        if (bytes.StartsWith((ReadOnlySpan<byte>)[0xFF, 0xFE])) { return (TextCoding.Utf16, true); }
        if (bytes.StartsWith((ReadOnlySpan<byte>)[0xFE, 0xFF])) { return (TextCoding.Utf16BigEndian, true); }
        int even = 0, odd = 0;
        for (int i = 0; i < bytes.Length; i++)
        {
            if (bytes[i] == 0) { if (i % 2 == 0) { even++; } else { odd++; } }
        }
        // Digits and blanks in UTF-16 have a zero in every other byte.
        if (odd > bytes.Length / 4 && even == 0) { return (TextCoding.Utf16, false); }
        if (even > bytes.Length / 4 && odd == 0) { return (TextCoding.Utf16BigEndian, false); }
        // Where the sample cuts a character, up to three of its bytes are left.
        for (int cut = 0; cut <= (bytes.Length == Length ? 3 : 0); cut++)
        {
            if (Utf8.IsValid(bytes[..^cut])) { return (TextCoding.Utf8, true); }
        }
        return (TextCoding.Latin1, false);
    }
}
