namespace HilRunner.Transport.Decoding;

/// <summary>
/// A line pattern as a table: one look-up for each character, no going back, no allocation. Only for patterns in which the next character
/// decides (see <see cref="LinePatternCompiler"/>), anchored at the start, and for ASCII lines without line feeds; there it finds
/// exactly what the regular expression of the same text finds.
/// </summary>
internal sealed class LinePattern
{
    public const int RowLength = 128;

    /// <summary>A step to a state; on the way the position is saved into some slots.</summary>
    internal readonly record struct Edge(int Target, int FirstSave, int SaveCount);

    private readonly ushort[] _table;
    private readonly Edge[] _edges;
    private readonly int[] _saves;
    private readonly ushort[] _accepts;
    private readonly bool _endAnchored;

    internal LinePattern(IReadOnlyList<string> groups, ushort[] table, Edge[] edges, int[] saves, ushort[] accepts, bool endAnchored) =>
        (Groups, _table, _edges, _saves, _accepts, _endAnchored) = (groups, table, edges, saves, accepts, endAnchored);

    /// <summary>Names of the groups, in the order of their slots.</summary>
    public IReadOnlyList<string> Groups { get; }

    /// <summary>Null: this pattern needs the general engine.</summary>
    public static LinePattern? TryCompile(string pattern) =>
        LinePatternParser.Parse(pattern, out bool endAnchored) is { } root ? LinePatternCompiler.Compile(root, endAnchored) : null;

    /// <param name="line">ASCII, without line feed.</param>
    /// <param name="slots">Start and end of every group (twice as many as there are groups); −1 where a group took no part.</param>
    public bool TryMatch(ReadOnlySpan<byte> line, Span<int> slots)
    {
        slots.Fill(-1);
        Span<int> best = _endAnchored ? [] : stackalloc int[slots.Length];
        bool matched = false;
        int state = 0;
        for (int at = 0; at < line.Length; at++)
        {
            if (!_endAnchored && _accepts[state] != 0)
            {
                slots.CopyTo(best);
                Save(_accepts[state], at, best);
                matched = true;
            }
            int edge = _table[state * RowLength + line[at]];
            if (edge == 0)
            {
                if (matched) { best.CopyTo(slots); }
                return matched;
            }
            Save(edge, at, slots);
            state = _edges[edge].Target;
        }
        if (_accepts[state] != 0)
        {
            Save(_accepts[state], line.Length, slots);
            return true;
        }
        if (matched) { best.CopyTo(slots); }
        return matched;
    }

    private void Save(int edgeIndex, int at, Span<int> slots)
    {
        Edge edge = _edges[edgeIndex];
        for (int i = 0; i < edge.SaveCount; i++) { slots[_saves[edge.FirstSave + i]] = at; }
    }
}
