using System.Text.Json;
using HilRunner.Core;
using HilRunner.Core.Files;

namespace HilRunner.Transport.Decoding;

/// <summary>
/// Answers what an adapter answered before, from <see cref="AdapterMessages"/>. The file is data: what is wrong in it is bad
/// input, with its line.
/// </summary>
internal sealed class KeptAdapter : IAdapter
{
    private const string AsWritten = "the file as hil run wrote it";
    private static readonly JsonElement s_nothing = JsonDocument.Parse("{\"done\":true}").RootElement;
    private readonly string _path;
    private readonly FileStream _file;
    private readonly byte[] _buffer = new byte[AdapterMessages.LongestLine];
    private int _start, _end, _line;
    private JsonElement _next;
    private int _read;

    /// <exception cref="BadInputException">It is damaged, or of another capture.</exception>
    public KeptAdapter(string path, string captureSha256)
    {
        _path = path;
        _file = PlainFile.OpenRead(path);
        try
        {
            JsonElement head = ReadLine();
            if (Whole(head, AdapterMessages.SchemaKey) is not AdapterMessages.Schema)
            {
                throw Damage($"no schema {AdapterMessages.Schema}", AsWritten);
            }
            string? of = Text(head, AdapterMessages.CaptureKey);
            if (of != captureSha256)
            {
                throw Damage(
                    $"messages of a capture with SHA-256 {FoundText(of)}", $"those of the capture beside it, {captureSha256}");
            }
            _next = ReadLine();
        }
        catch
        {
            _file.Dispose();
            throw;
        }
    }

    public JsonElement Ask(ReadOnlySpan<byte> request, Action<JsonElement>? onLine)
    {
        int read = _read++;
        if (Whole(_next, AdapterMessages.ReadsKey) is { } reads)
        {
            return read < reads ? s_nothing : throw Damage($"messages of {reads} reads", "those of every read of the capture");
        }
        if (Number(_next) is var first && first > read) { return s_nothing; }
        for (int lines = 0; ; lines++)
        {
            if (lines > AdapterProcess.MostLines)
            {
                throw Damage($"more than {AdapterProcess.MostLines} lines of one read",
                    "as many as an adapter may say to one request");
            }
            if (Number(_next) != read)
            {
                throw Damage($"read {Number(_next)} where read {read} is not at its end",
                    "reads in their order, each closed by done or failed");
            }
            JsonElement line = _next;
            _next = ReadLine();
            if (Text(line, AdapterMessages.FailedKey) is { } why) { throw new InvalidDataException(why); }
            if (line.TryGetProperty(AdapterMessages.DoneKey, out JsonElement done) && done.ValueKind == JsonValueKind.Object)
            {
                return done;
            }
            if (!line.TryGetProperty(AdapterMessages.MessageKey, out JsonElement message)
                || message.ValueKind != JsonValueKind.Object)
            {
                throw Damage("neither message, done nor failed", AsWritten, before: 1);
            }
            try { onLine?.Invoke(message); }
            catch (Exception fault) when (fault is FormatException or InvalidOperationException or KeyNotFoundException)
            {
                throw Damage(fault.Message, "a message of the adapter protocol", before: 1);
            }
        }
    }

    public void Finish()
    {
        if (Whole(_next, AdapterMessages.ReadsKey) is not { } reads)
        {
            throw Damage("messages of a read that the capture does not have",
                $"those of its {_read} reads, and a last line that says so");
        }
        if (reads != _read) { throw Damage($"messages of {reads} reads", $"those of the capture's {_read}"); }
        if (_end > _start || _file.ReadByte() >= 0) { throw Damage("more after its last line", AsWritten); }
    }

    public void Dispose() => _file.Dispose();

    private int Number(JsonElement line) =>
        Whole(line, AdapterMessages.ReadKey) ?? throw Damage($"no {AdapterMessages.ReadKey}", AsWritten);

    private static int? Whole(JsonElement line, string key) => line.TryGetProperty(key, out JsonElement value)
        && value.ValueKind == JsonValueKind.Number && value.TryGetInt32(out int number) ? number : null;

    private static string? Text(JsonElement line, string key) =>
        line.TryGetProperty(key, out JsonElement value) && value.ValueKind == JsonValueKind.String ? value.GetString() : null;

    private static string FoundText(string? hash) =>
        hash is { Length: 64 } && hash.All(char.IsAsciiHexDigitLower) ? hash : "that is none";

    private JsonElement ReadLine()
    {
        int searched = _start;
        while (true)
        {
            int end = _buffer.AsSpan(searched, _end - searched).IndexOf((byte)'\n');
            if (end >= 0)
            {
                ReadOnlyMemory<byte> line = _buffer.AsMemory(_start, searched + end - _start);
                (_start, _line) = (searched + end + 1, _line + 1);
                return Parse(line);
            }
            _buffer.AsSpan(_start, _end - _start).CopyTo(_buffer);
            (_end, _start) = (_end - _start, 0);
            searched = _end;
            if (_end == _buffer.Length)
            {
                throw Damage($"a line of more than {AdapterMessages.LongestLine} bytes", AsWritten, before: -1);
            }
            int count = _file.Read(_buffer, _end, _buffer.Length - _end);
            if (count == 0)
            {
                throw Damage("the file ends here", "its last line, which says how many reads there were", before: -1);
            }
            _end += count;
        }
    }

    private JsonElement Parse(ReadOnlyMemory<byte> line)
    {
        try
        {
            using JsonDocument document = JsonDocument.Parse(line);
            if (document.RootElement.ValueKind == JsonValueKind.Object) { return document.RootElement.Clone(); }
        }
        catch (JsonException)
        {
            // Said below.
        }
        throw Damage("no JSON object", "one a line");
    }

    /// <param name="before">By how many lines the fault stands before the one that was read last.</param>
    private BadInputException Damage(string found, string expected, int before = 0) =>
        AdapterMessages.Damage(_path, _line - before, found, expected);
}
