using System.Diagnostics.CodeAnalysis;

namespace HilRunner.Transport.Decoding;

/// <summary>
/// Parses the subset of .NET regular expressions that <see cref="LinePattern"/> may take. Anything else is "not in the subset" (null), never a
/// guess: what is accepted means the same here as there, on ASCII text without line feeds.
/// </summary>
internal sealed class LinePatternParser
{
    private static readonly UInt128 Digit = Range('0', '9');
    private static readonly UInt128 Word = Digit | Range('a', 'z') | Range('A', 'Z') | Bit('_');
    private static readonly UInt128 Space = Range('\t', '\r') | Bit(' ');
    private static readonly UInt128 NotLineFeed = ~Bit('\n');

    /// <summary>Counts above this are left to the general engine, which does not unroll them.</summary>
    private const int LargestCount = 256;

    private const int DeepestNesting = 32;

    private readonly string _text;
    private int _at;
    private int _depth;

    private LinePatternParser(string text) => _text = text;

    /// <param name="endAnchored">True: the pattern ends in $.</param>
    public static LinePatternNode? Parse(string pattern, out bool endAnchored)
    {
        endAnchored = false;
        if (!pattern.StartsWith('^')) { return null; }
        var parser = new LinePatternParser(pattern) { _at = 1 };
        if (!parser.TrySequence(out LinePatternNode? node)) { return null; }
        if (parser.Accept('$')) { endAnchored = true; }
        return parser._at == pattern.Length ? node : null;
    }

    private bool AtEnd => _at == _text.Length;

    private static UInt128 Bit(int c) => UInt128.One << c;

    private static UInt128 Range(char first, char last)
    {
        UInt128 set = 0;
        for (int c = first; c <= last; c++) { set |= Bit(c); }
        return set;
    }

    private bool Accept(char c)
    {
        if (AtEnd || _text[_at] != c) { return false; }
        _at++;
        return true;
    }

    private bool TryAlternatives([NotNullWhen(true)] out LinePatternNode? node)
    {
        node = null;
        var items = new List<LinePatternNode>();
        do
        {
            if (!TrySequence(out LinePatternNode? item)) { return false; }
            items.Add(item);
        }
        while (Accept('|'));
        node = items.Count == 1 ? items[0] : new LinePatternNode.Alternatives(items);
        return true;
    }

    private bool TrySequence([NotNullWhen(true)] out LinePatternNode? node)
    {
        node = null;
        var items = new List<LinePatternNode>();
        while (!AtEnd && _text[_at] is not (')' or '|' or '$'))
        {
            if (!TryAtom(out LinePatternNode? atom) || !TryQuantifier(ref atom)) { return false; }
            items.Add(atom);
        }
        node = new LinePatternNode.Sequence(items);
        return true;
    }

    private bool TryAtom([NotNullWhen(true)] out LinePatternNode? node)
    {
        node = null;
        char c = _text[_at];
        if (c >= 128 || c is '^' or '*' or '+' or '?' or '{') { return false; }
        _at++;
        switch (c)
        {
            case '(':
                return TryGroup(out node);
            case '[':
                return TryCharacterClass(out node);
            case '.':
                node = new LinePatternNode.Character(NotLineFeed);
                return true;
            case '\\':
                if (!TryEscape(out UInt128 set, out _)) { return false; }
                node = new LinePatternNode.Character(set);
                return true;
            default:
                node = new LinePatternNode.Character(Bit(c));
                return true;
        }
    }

    private bool TryGroup([NotNullWhen(true)] out LinePatternNode? node)
    {
        node = null;
        string? name = null;
        if (Accept('?'))
        {
            if (Accept('<'))
            {
                int start = _at;
                while (!AtEnd && (char.IsAsciiLetterOrDigit(_text[_at]) || _text[_at] == '_')) { _at++; }
                name = _text[start.._at];
                if (name.Length == 0 || char.IsAsciiDigit(name[0]) || !Accept('>')) { return false; }
            }
            else if (!Accept(':')) { return false; }
        }
        if (++_depth > DeepestNesting || !TryAlternatives(out LinePatternNode? inner) || !Accept(')')) { return false; }
        _depth--;
        node = name is null ? inner : new LinePatternNode.NamedGroup(name, inner);
        return true;
    }

    private bool TryQuantifier([NotNullWhen(true)] ref LinePatternNode? node)
    {
        int least, most;
        if (Accept('*')) { (least, most) = (0, -1); }
        else if (Accept('+')) { (least, most) = (1, -1); }
        else if (Accept('?')) { (least, most) = (0, 1); }
        else if (Accept('{'))
        {
            if (!TryCount(out least)) { return false; }
            most = least;
            if (Accept(',') && !TryCount(out most)) { most = -1; }
            if (!Accept('}') || (most >= 0 && most < least)) { return false; }
        }
        else { return node is not null; }
        bool lazy = Accept('?');
        // What may repeat nothing, and quantifiers on quantifiers, have rules of their own: left to the general engine.
        if (node is null || node.CanBeEmpty || (!AtEnd && _text[_at] is '*' or '+' or '?' or '{')) { return false; }
        node = new LinePatternNode.Repeat(node, least, most, lazy);
        return true;
    }

    private bool TryCount(out int count)
    {
        count = 0;
        int start = _at;
        while (!AtEnd && char.IsAsciiDigit(_text[_at]) && count <= LargestCount) { count = 10 * count + (_text[_at++] - '0'); }
        return _at > start && count <= LargestCount;
    }

    private bool TryCharacterClass([NotNullWhen(true)] out LinePatternNode? node)
    {
        node = null;
        bool negated = Accept('^');
        UInt128 set = 0;
        bool first = true;
        while (!AtEnd && (_text[_at] != ']' || first))
        {
            first = false;
            if (!TryClassItem(out UInt128 item, out int single)) { return false; }
            if (!AtEnd && _text[_at] == '-' && _at + 1 < _text.Length && _text[_at + 1] != ']')
            {
                _at++;
                // A range between sets and a subtraction are not in the subset.
                if (single < 0 || _text[_at] == '[' || !TryClassItem(out _, out int last) || last < single) { return false; }
                item = Range((char)single, (char)last);
            }
            set |= item;
        }
        if (!Accept(']')) { return false; }
        node = new LinePatternNode.Character(negated ? ~set : set);
        return true;
    }

    private bool TryClassItem(out UInt128 set, out int single)
    {
        (set, single) = (0, -1);
        if (AtEnd) { return false; }
        char c = _text[_at++];
        if (c >= 128) { return false; }
        if (c == '\\') { return TryEscape(out set, out single); }
        (set, single) = (Bit(c), c);
        return true;
    }

    /// <param name="single">The character, or −1 when the escape stands for a set.</param>
    private bool TryEscape(out UInt128 set, out int single)
    {
        (set, single) = (0, -1);
        if (AtEnd) { return false; }
        char c = _text[_at++];
        switch (c)
        {
            case 'd': set = Digit; return true;
            case 'D': set = ~Digit; return true;
            case 'w': set = Word; return true;
            case 'W': set = ~Word; return true;
            case 's': set = Space; return true;
            case 'S': set = ~Space; return true;
            case 't': single = '\t'; break;
            case 'r': single = '\r'; break;
            default:
                if (c >= 128 || char.IsAsciiLetterOrDigit(c) || c == '_') { return false; }
                single = c;
                break;
        }
        set = Bit(single);
        return true;
    }
}
