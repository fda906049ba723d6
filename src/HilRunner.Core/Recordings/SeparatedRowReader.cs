using nietras.SeparatedValues;

namespace HilRunner.Core.Recordings;

/// <summary>Rows parted by one character, quoted as in RFC 4180.</summary>
internal sealed class SeparatedRowReader : RowReader
{
    private readonly string _path;
    private readonly SepReader _reader;
    private int _line;
    private int _nextLine = 1;
    // The cell whose column was asked for last: a row of many thousand cells may be asked for each of them.
    private (int Cell, int Column) _asked = (0, 1);

    /// <param name="path">For messages.</param>
    /// <param name="text">The text; disposed with this.</param>
    /// <param name="separator">Between cells.</param>
    /// <param name="quotes">False: quotation marks are characters like any other.</param>
    public SeparatedRowReader(string path, TextReader text, char separator, bool quotes = true)
    {
        _path = path;
        // The parser reads the first row as it begins.
        try
        {
            _reader = new Sep(separator).Reader(
                o => o with { HasHeader = false, DisableColCountCheck = true, DisableQuotesParsing = !quotes }).From(text);
        }
        catch (Exception e) when (IsTooLong(e)) { throw TooLong(); }
    }

    public override bool MoveNext()
    {
        try
        {
            if (!_reader.MoveNext()) { return false; }
        }
        catch (Exception e) when (IsTooLong(e)) { throw TooLong(); }
        _asked = (0, 1);
        // Counted here: the parser's own number of a first row is that of the second when there is no header.
        _line = _nextLine;
        _nextLine += 1 + LineEnds(_reader.Current.Span);
        return true;
    }

    /// <summary>The parser's limit is 16 MiB for one row: a quotation mark that is never closed, or no text at all.</summary>
    private static bool IsTooLong(Exception e) => e is NotSupportedException or ArgumentException or OverflowException;

    private BadInputException TooLong() =>
        new([new Fault(_path, _nextLine, 0, "a row of more than 16 million characters", "rows of numbers",
        "look for a quotation mark that is never closed")]);

    public override int Line => _line;

    /// <summary>A row with an open quotation mark goes to the end of the file, whose last line break begins no line.</summary>
    public override int Lines => _nextLine - _line - (_reader.Current.Span is [.., '\n' or '\r'] ? 1 : 0);
    public override int Count => _reader.Current.ColCount;
    public override ReadOnlySpan<char> this[int cell] => _reader.Current[cell].Span;

    public override int Column(int cell)
    {
        var (at, column) = cell >= _asked.Cell ? _asked : (0, 1);
        for (; at < cell; at++) { column += this[at].Length + 1; }
        _asked = (cell, column);
        return column;
    }

    /// <summary>A lone carriage return ends a line, as it ends a row.</summary>
    private static int LineEnds(ReadOnlySpan<char> text) =>
        text.IndexOfAny('\n', '\r') < 0 ? 0 : text.Count('\n') + text.Count('\r') - text.Count("\r\n");

    public override void Dispose() => _reader.Dispose();
}
