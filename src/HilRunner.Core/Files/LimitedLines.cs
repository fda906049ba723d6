namespace HilRunner.Core.Files;

/// <summary>
/// Text whose lines are no longer than any table has them: what reads a row whole is not made to hold a file without an end of
/// line.
/// </summary>
internal sealed class LimitedLines(TextReader text) : TextReader
{
    /// <summary>Longest line, in characters.</summary>
    public const int Longest = 1 << 20;

    private long _line = 1;
    private int _length;

    /// <exception cref="InvalidDataException">A line is longer.</exception>
    public override int Read(Span<char> buffer)
    {
        int read = text.Read(buffer);
        for (ReadOnlySpan<char> left = buffer[..read]; !left.IsEmpty;)
        {
            int end = left.IndexOfAny('\n', '\r'), part = end < 0 ? left.Length : end;
            _length += part;
            if (_length > Longest)
            {
                throw new InvalidDataException(FormattableString.Invariant($"line {_line} has more than {Longest} characters"));
            }
            if (end < 0) { break; }
            if (left[end] == '\n') { _line++; }
            _length = 0;
            left = left[(end + 1)..];
        }
        return read;
    }

    public override int Read(char[] buffer, int index, int count) => Read(buffer.AsSpan(index, count));

    public override int Peek() => text.Peek();

    public override int Read()
    {
        Span<char> one = stackalloc char[1];
        return Read(one) == 1 ? one[0] : -1;
    }

    protected override void Dispose(bool disposing)
    {
        if (disposing) { text.Dispose(); }
        base.Dispose(disposing);
    }
}
