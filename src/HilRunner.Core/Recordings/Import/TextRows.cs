using System.Text;

namespace HilRunner.Core.Recordings.Import;

/// <summary>Rows of a delimited text without its comments, empty lines and line ends.</summary>
internal sealed class TextRows : RowReader
{
    private readonly RowReader _inner;
    private readonly int _skipped;
    private readonly string _comment;
    private readonly string _end;
    private readonly bool _endIsCell;
    private int _count;
    private int _lines;
    private bool _ends = true;

    private TextRows(RowReader inner, ImportReading reading)
    {
        _inner = inner;
        _skipped = reading.Skip ?? 0;
        _comment = reading.Comment ?? "";
        _end = reading.LineEnd ?? "";
        _endIsCell = (reading.Separator, _end) is ("comma", ",") or ("semicolon", ";");
    }

    /// <param name="reading">With nothing left open.</param>
    public static TextRows Open(string path, ImportReading reading)
    {
        var text = new StreamReader(path, EncodingOf(reading.Encoding ?? TextCoding.Utf8), detectEncodingFromByteOrderMarks: true, bufferSize: 1 << 16);
        try
        {
            SkipLines(text, reading.Skip ?? 0);
            return new(Open(path, text, reading.Separator ?? "comma", reading.Quotes ?? false), reading);
        }
        catch
        {
            text.Dispose();
            throw;
        }
    }

    public static Encoding EncodingOf(TextCoding coding) => coding switch
    {
        TextCoding.Utf16 => Encoding.Unicode,
        TextCoding.Utf16BigEndian => Encoding.BigEndianUnicode,
        TextCoding.Latin1 => Encoding.Latin1,
        _ => Encoding.UTF8,
    };

    public override int Line => _inner.Line + _skipped;
    public override int Count => _count;
    public override int Lines => _lines;

    /// <summary>No sample goes over several lines: a quotation mark that is not closed would swallow rows.</summary>
    public override string? Trouble => _lines > 1 ? $"a row of {_lines} lines, held together by quotation marks"
        : _ends ? null : $"a line that does not end in '{_end}'";

    public override int Column(int cell) => _inner.Column(cell);
    public override void Dispose() => _inner.Dispose();

    public override ReadOnlySpan<char> this[int cell]
    {
        get
        {
            var text = _inner[cell];
            if (_end.Length == 0 || _endIsCell || cell != _count - 1) { return text; }
            text = text.TrimEnd();
            return text.EndsWith(_end, StringComparison.Ordinal) ? text[..^_end.Length] : text;
        }
    }

    public override bool MoveNext()
    {
        while (_inner.MoveNext())
        {
            if (_inner.IsBlank || (_comment.Length > 0 && _inner[0].TrimStart().StartsWith(_comment, StringComparison.Ordinal))) { continue; }
            _count = _inner.Count;
            _lines = _inner.Lines;
            if (_end.Length > 0)
            {
                var last = _inner[_count - 1];
                _ends = _endIsCell ? last.IsWhiteSpace() : last.TrimEnd().EndsWith(_end, StringComparison.Ordinal);
                if (_endIsCell && _ends) { _count--; }
            }
            return true;
        }
        return false;
    }

    private static void SkipLines(StreamReader text, int lines)
    {
        for (int c = 0; lines > 0 && c >= 0;)
        {
            c = text.Read();
            if (c == '\n' || (c == '\r' && text.Peek() != '\n')) { lines--; }
        }
    }
}
