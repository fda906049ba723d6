using System.Text;
using System.Text.RegularExpressions;

namespace HilRunner.Transport.Decoding;

/// <summary>
/// A pattern with named groups against one line of text: by table where the pattern allows (no allocation), otherwise by the general engine, which
/// never takes longer than a limit. Immutable: may be shared by decoders.
/// </summary>
internal sealed class TextPattern
{
    /// <summary>Only patterns that go back (look-around, back references) can come near it; a line that reaches it counts as unknown.</summary>
    private static readonly TimeSpan LongestMatch = TimeSpan.FromMilliseconds(50);

    private readonly Regex _regex;
    private readonly LinePattern? _table;
    /// <summary>Index in <see cref="Groups"/> of each group of the table.</summary>
    private readonly int[] _tableGroups = [];

    /// <param name="where">Entry of the rig, for messages.</param>
    /// <exception cref="InvalidDataException">Not a regular expression.</exception>
    public TextPattern(string pattern, string where)
    {
        _regex = Parse(pattern, where);
        Groups = [.. _regex.GetGroupNames().Where(name => !char.IsAsciiDigit(name[0]))];
        _table = LinePattern.TryCompile(pattern);
        if (_table is not null) { _tableGroups = [.. _table.Groups.Select(name => Groups.IndexOf(name))]; }
    }

    public List<string> Groups { get; }

    /// <summary>True when ASCII lines are matched by table.</summary>
    public bool ByTable => _table is not null;

    /// <param name="slots">Start and end in bytes of every group in the order of <see cref="Groups"/>; −1 where a group took no part.</param>
    public bool TryMatch(ReadOnlySpan<byte> line, Span<int> slots)
    {
        if (line.Contains((byte)'\n')) { return false; }
        if (_table is null || !Ascii.IsValid(line)) { return TryMatchGeneral(line, slots); }
        Span<int> own = stackalloc int[2 * _tableGroups.Length];
        if (!_table.TryMatch(line, own)) { return false; }
        for (int i = 0; i < _tableGroups.Length; i++)
        {
            own.Slice(2 * i, 2).CopyTo(slots[(2 * _tableGroups[i])..]);
        }
        return true;
    }

    private bool TryMatchGeneral(ReadOnlySpan<byte> line, Span<int> slots)
    {
        Span<char> buffer = line.Length <= 512 ? stackalloc char[line.Length] : new char[line.Length];
        if (System.Text.Unicode.Utf8.ToUtf16(line, buffer, out _, out int length, replaceInvalidSequences: false)
            != System.Buffers.OperationStatus.Done)
        {
            return false;
        }
        Span<char> text = buffer[..length];
        try
        {
            // A span cannot give groups, so the text becomes a string only where it does match.
            if (!_regex.IsMatch(text)) { return false; }
            Match match = _regex.Match(text.ToString());
            for (int i = 0; i < Groups.Count; i++)
            {
                Group group = match.Groups[Groups[i]];
                slots[2 * i] = group.Success ? Encoding.UTF8.GetByteCount(text[..group.Index]) : -1;
                slots[2 * i + 1] = group.Success ? Encoding.UTF8.GetByteCount(text[..(group.Index + group.Length)]) : -1;
            }
            return true;
        }
        catch (RegexMatchTimeoutException) { return false; }
    }

    private static Regex Parse(string pattern, string where)
    {
        try
        {
            try { return new(pattern, RegexOptions.NonBacktracking | RegexOptions.CultureInvariant, LongestMatch); }
            catch (NotSupportedException) { return new(pattern, RegexOptions.CultureInvariant, LongestMatch); }
        }
        catch (RegexParseException exception)
        {
            throw new InvalidDataException($"{where}: \"{pattern}\" is no regular expression: {exception.Message}", exception);
        }
    }
}
