using System.Text;

namespace HilRunner.Core.Recordings;

/// <summary>Rows parted by any run of spaces and tabs; blanks at either end of a line do not count.</summary>
internal sealed class BlankRowReader(string path) : RowReader
{
    /// <summary>Longest line, in characters. A longer one is no row of numbers.</summary>
    public const int LongestLine = 65_536;

    private readonly StreamReader _reader = new(path, Encoding.UTF8);
    private readonly List<Range> _cells = [];
    private readonly char[] _buffer = new char[LongestLine + 2];
    private int _line;
    private int _start;
    private int _length;
    private int _filled;
    private bool _ended;

    public override int Line => _line;
    public override int Count => _cells.Count;
    public override ReadOnlySpan<char> this[int cell] => Text[_cells[cell]];
    public override int Column(int cell) => _cells[cell].Start.Value + 1;
    public override void Dispose() => _reader.Dispose();

    private ReadOnlySpan<char> Text => _buffer.AsSpan(_start, _length);

    public override bool MoveNext()
    {
        if (!NextLine()) { return false; }
        _line++;
        _cells.Clear();
        var text = Text;
        for (int i = 0; i < text.Length;)
        {
            if (char.IsWhiteSpace(text[i])) { i++; continue; }
            int start = i;
            while (i < text.Length && !char.IsWhiteSpace(text[i])) { i++; }
            _cells.Add(start..i);
        }
        return true;
    }

    private bool NextLine()
    {
        _start += _length + (_line == 0 ? 0 : 1);
        _length = 0;
        while (true)
        {
            // At the end of the file the last line's missing \n has been stepped over: nothing is left.
            int left = Math.Max(0, _filled - _start);
            int end = left == 0 ? -1 : _buffer.AsSpan(_start, left).IndexOf('\n');
            if (end >= 0)
            {
                _length = end;
                return true;
            }
            if (_ended)
            {
                _length = left;
                return left > 0;
            }
            if (left > LongestLine)
            {
                throw new BadInputException([new Fault(path, _line + 1, 0, $"a line of more than {LongestLine} characters", "a row of numbers",
                    "check that the file is a text file")]);
            }
            Fill(left);
        }
    }

    private void Fill(int left)
    {
        _buffer.AsSpan(Math.Min(_start, _filled), left).CopyTo(_buffer);
        _start = 0;
        int read = _reader.Read(_buffer, left, _buffer.Length - left);
        _filled = left + read;
        _ended = read == 0;
    }
}
