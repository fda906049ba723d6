using System.Text;
using System.Text.Json;

namespace HilRunner.Core.Recordings.Import;

/// <summary>
/// Rows of a file with one JSON object a line (JSON Lines). Values inside objects and lists are named by their way:
/// <c>acc.x</c>, <c>acc.0</c>. A cell is the value's text; what is absent or null is empty.
/// </summary>
internal sealed class JsonRows : RowReader
{
    private const int DeepestPath = 1000;

    private readonly LineReader _lines;
    private readonly Dictionary<string, int> _cells;
    private readonly Dictionary<string, int>.AlternateLookup<ReadOnlySpan<char>> _lookup;
    private readonly Range[] _ranges;
    private byte[] _bytes = new byte[4096];
    private char[] _text = new char[4096];
    private int _filled;
    private string? _trouble;

    /// <param name="names">The cells that count, each once.</param>
    public JsonRows(string path, TextReader text, IReadOnlyList<string> names)
    {
        _lines = new(path, text);
        _cells = names.Select((n, i) => (n, i)).ToDictionary(p => p.n, p => p.i, StringComparer.Ordinal);
        _lookup = _cells.GetAlternateLookup<ReadOnlySpan<char>>();
        _ranges = new Range[names.Count];
    }

    /// <summary>All names in the first lines, in the order in which they appear.</summary>
    public static IReadOnlyList<string> NamesIn(IEnumerable<string> lines)
    {
        var names = new List<string>();
        var seen = new HashSet<string>(StringComparer.Ordinal);
        foreach (string line in lines)
        {
            try
            {
                Walk(Encoding.UTF8.GetBytes(line), (name, _) =>
                {
                    if (names.Count < 1000 && seen.Add(name.ToString())) { names.Add(name.ToString()); }
                });
            }
            catch (JsonException) { /* told when the rows are read */ }
        }
        return names;
    }

    public override int Line => _lines.Line;
    public override int Count => _ranges.Length;
    public override string? Trouble => _trouble;
    public override ReadOnlySpan<char> this[int cell] => _text.AsSpan(_ranges[cell]);
    public override int Column(int cell) => 0;
    public override void Dispose() => _lines.Dispose();

    public override bool MoveNext()
    {
        do
        {
            if (!_lines.MoveNext()) { return false; }
        }
        while (_lines.Text.IsWhiteSpace());
        Array.Clear(_ranges);
        _filled = 0;
        _trouble = null;
        var line = _lines.Text;
        int most = Encoding.UTF8.GetMaxByteCount(line.Length);
        if (_bytes.Length < most) { _bytes = new byte[most]; }
        int length = Encoding.UTF8.GetBytes(line, _bytes);
        try { Walk(_bytes.AsSpan(0, length), Take); }
        catch (JsonException fault) { _trouble = $"no JSON object ({FirstSentence(fault.Message)})"; }
        return true;
    }

    private void Take(ReadOnlySpan<char> name, ReadOnlySpan<char> value)
    {
        if (!_lookup.TryGetValue(name, out int cell)) { return; }
        if (_filled + value.Length > _text.Length) { Array.Resize(ref _text, Math.Max(_text.Length * 2, _filled + value.Length)); }
        value.CopyTo(_text.AsSpan(_filled));
        _ranges[cell] = _filled..(_filled + value.Length);
        _filled += value.Length;
    }

    private delegate void OnValue(ReadOnlySpan<char> name, ReadOnlySpan<char> value);

    /// <exception cref="JsonException">No object, or no JSON.</exception>
    private static void Walk(ReadOnlySpan<byte> json, OnValue take)
    {
        var reader = new Utf8JsonReader(json, new JsonReaderOptions { MaxDepth = 16 });
        Span<char> path = stackalloc char[DeepestPath];
        Span<int> lengths = stackalloc int[18];
        Span<int> indexes = stackalloc int[18];
        char[] text = new char[256];
        int depth = 0, at = 0;
        if (!reader.Read() || reader.TokenType != JsonTokenType.StartObject) { throw new JsonException("not an object."); }
        indexes[0] = -1;
        while (reader.Read())
        {
            switch (reader.TokenType)
            {
                case JsonTokenType.PropertyName:
                    at = lengths[depth];
                    at = Append(path, at, reader.GetString());
                    break;
                case JsonTokenType.EndObject or JsonTokenType.EndArray:
                    if (depth > 0) { depth--; }
                    break;
                default:
                    if (indexes[depth] >= 0)
                    {
                        at = Append(path, lengths[depth], indexes[depth].ToString(System.Globalization.CultureInfo.InvariantCulture));
                        indexes[depth]++;
                    }
                    if (reader.TokenType is JsonTokenType.StartObject or JsonTokenType.StartArray)
                    {
                        depth++;
                        lengths[depth] = at;
                        indexes[depth] = reader.TokenType == JsonTokenType.StartArray ? 0 : -1;
                        break;
                    }
                    if (reader.TokenType == JsonTokenType.Null) { break; }
                    if (text.Length < reader.ValueSpan.Length) { text = new char[reader.ValueSpan.Length]; }
                    int written = reader.TokenType == JsonTokenType.String ? reader.CopyString(text) : Encoding.UTF8.GetChars(reader.ValueSpan, text);
                    take(path[..at], text.AsSpan(0, written));
                    break;
            }
        }
    }

    private static int Append(Span<char> path, int at, string? part)
    {
        int needed = at + (at > 0 ? 1 : 0) + part!.Length;
        if (needed > path.Length) { throw new JsonException("names of more than a thousand characters."); }
        if (at > 0) { path[at++] = '.'; }
        part.CopyTo(path[at..]);
        return at + part.Length;
    }

    private static string FirstSentence(string text)
    {
        int end = text.IndexOf('.', StringComparison.Ordinal);
        return FoundTextOf(end > 0 ? text[..end] : text);
    }

    private static string FoundTextOf(string text) => string.Concat(text.Select(c => char.IsControl(c) ? '?' : c));
}
