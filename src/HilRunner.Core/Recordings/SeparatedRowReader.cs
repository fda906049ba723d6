using nietras.SeparatedValues;

namespace HilRunner.Core.Recordings;

/// <summary>Rows parted by one character, quoted as in RFC 4180.</summary>
internal sealed class SeparatedRowReader : RowReader
{
    private readonly string _path;
    private readonly SepReader _reader;

    public SeparatedRowReader(string path, char separator)
    {
        _path = path;
        _reader = new Sep(separator).Reader(o => o with { HasHeader = false, DisableColCountCheck = true }).FromFile(path);
    }

    public override bool MoveNext()
    {
        try
        {
            return _reader.MoveNext();
        }
        catch (NotSupportedException)
        {
            // The parser's limit, 16 MiB for one row: a quotation mark that is never closed, or no text at all.
            throw new BadInputException([new Fault(_path, 0, 0, "a row of more than 16 million characters", "rows of numbers",
                "look for a quotation mark that is never closed")]);
        }
    }

    public override int Line => _reader.Current.LineNumberFrom;
    public override int Count => _reader.Current.ColCount;
    public override ReadOnlySpan<char> this[int cell] => _reader.Current[cell].Span;

    public override int Column(int cell)
    {
        var row = _reader.Current;
        return row.Span.Overlaps(row[cell].Span, out int offset) ? offset + 1 : row.Span.Length + 1;
    }

    public override void Dispose() => _reader.Dispose();
}
