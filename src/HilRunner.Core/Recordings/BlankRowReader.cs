namespace HilRunner.Core.Recordings;

/// <summary>Rows parted by any run of spaces and tabs; blanks at either end of a line do not count.</summary>
/// <param name="path">For messages.</param>
/// <param name="reader">The text; disposed with this.</param>
internal sealed class BlankRowReader(string path, TextReader reader) : RowReader
{
    private readonly LineReader _lines = new(path, reader);
    private readonly List<Range> _cells = [];

    public override int Line => _lines.Line;
    public override int Count => _cells.Count;
    public override ReadOnlySpan<char> this[int cell] => _lines.Text[_cells[cell]];
    public override int Column(int cell) => _cells[cell].Start.Value + 1;
    public override void Dispose() => _lines.Dispose();

    public override bool MoveNext()
    {
        if (!_lines.MoveNext()) { return false; }
        _cells.Clear();
        var text = _lines.Text;
        for (int i = 0; i < text.Length;)
        {
            if (char.IsWhiteSpace(text[i])) { i++; continue; }
            int start = i;
            while (i < text.Length && !char.IsWhiteSpace(text[i])) { i++; }
            _cells.Add(start..i);
        }
        return true;
    }
}
