namespace HilRunner.Core.Recordings;

/// <summary>Lines of a text, one at a time, in a buffer of fixed size.</summary>
/// <param name="path">For messages.</param>
/// <param name="reader">The text; disposed with this.</param>
internal sealed class LineReader(string path, TextReader reader) : IDisposable
{
    /// <summary>Longest line, in characters. A longer one is no row of numbers.</summary>
    public const int LongestLine = 65_536;

    private readonly char[] _buffer = new char[LongestLine + 2];
    private int _start;
    private int _length;
    private int _filled;
    private bool _ended;

    /// <summary>1-based.</summary>
    public int Line { get; private set; }

    /// <summary>Without its \n; valid until <see cref="MoveNext"/>.</summary>
    public ReadOnlySpan<char> Text => _buffer.AsSpan(_start, _length);

    public void Dispose() => reader.Dispose();

    /// <exception cref="BadInputException">The line is too long.</exception>
    public bool MoveNext()
    {
        _start += _length + (Line == 0 ? 0 : 1);
        _length = 0;
        while (true)
        {
            // At the end of the file the last line's missing \n has been stepped over: nothing is left.
            int left = Math.Max(0, _filled - _start);
            int end = left == 0 ? -1 : _buffer.AsSpan(_start, left).IndexOf('\n');
            if (end >= 0 || (_ended && left > 0))
            {
                _length = end >= 0 ? end : left;
                Line++;
                return true;
            }
            if (_ended) { return false; }
            if (left > LongestLine)
            {
                throw new BadInputException([new Fault(path, Line + 1, 0, $"a line of more than {LongestLine} characters", "a row of numbers",
                    "check that the file is a text file")]);
            }
            Fill(left);
        }
    }

    private void Fill(int left)
    {
        _buffer.AsSpan(Math.Min(_start, _filled), left).CopyTo(_buffer);
        _start = 0;
        int read = reader.Read(_buffer, left, _buffer.Length - left);
        _filled = left + read;
        _ended = read == 0;
    }
}
