namespace HilRunner.Transport.Decoding;

/// <summary>
/// A line pattern as a table: one look-up for each character, no going back, no allocation. Only for the subset that
/// <see cref="LinePatternParser"/> takes, and for ASCII lines without line feeds; there it finds exactly what the regular expression
/// of the same text finds, groups included.
/// </summary>
internal sealed class LinePattern
{
    public const int RowLength = 128;

    /// <summary>How one way through the pattern goes on: from which way of the state before, and which slots take the position.</summary>
    internal readonly record struct Move(int Source, int FirstSave, int SaveCount);

    /// <summary>A step to a state, in which the ways that are still open are listed with the preferred one first.</summary>
    /// <param name="InPlace">There was and is one way: nothing to copy.</param>
    internal readonly record struct Edge(int Target, int FirstMove, int MoveCount, bool InPlace);

    /// <param name="Cells">State × character → index of an edge; 0: no match.</param>
    /// <param name="Accepts">State → move that completes the match here; −1: none.</param>
    internal sealed record Program(ushort[] Cells, Edge[] Edges, Move[] Moves, int[] Saves, int[] Accepts, int MostWays);

    private readonly Program _program;
    private readonly bool _endAnchored;

    internal LinePattern(IReadOnlyList<string> groups, Program program, bool endAnchored) =>
        (Groups, _program, _endAnchored) = (groups, program, endAnchored);

    /// <summary>Names of the groups, in the order of their slots.</summary>
    public IReadOnlyList<string> Groups { get; }

    /// <summary>Null: this pattern needs the general engine.</summary>
    public static LinePattern? TryCompile(string pattern) =>
        LinePatternParser.Parse(pattern, out bool endAnchored) is { } root ? LinePatternCompiler.Compile(root, endAnchored) : null;

    /// <param name="line">ASCII, without line feed.</param>
    /// <param name="slots">Start and end of every group (twice as many as there are groups); −1 where a group took no part. Meaningful after a match only.</param>
    public bool TryMatch(ReadOnlySpan<byte> line, Span<int> slots)
    {
        int width = slots.Length;
        Span<int> rows = stackalloc int[2 * _program.MostWays * width];
        Span<int> current = rows[..(_program.MostWays * width)];
        Span<int> next = rows[current.Length..];
        current[..width].Fill(-1);
        bool matched = false;
        int state = 0;
        for (int at = 0; at < line.Length; at++)
        {
            // Without $ a match may end here; a way that is preferred and still open may replace it later.
            if (!_endAnchored) { matched |= TryAccept(state, current, at, slots); }
            int cell = _program.Cells[state * RowLength + line[at]];
            if (cell == 0) { return matched; }
            Edge edge = _program.Edges[cell];
            if (edge.InPlace) { Save(_program.Moves[edge.FirstMove], at, current); }
            else
            {
                for (int way = 0; way < edge.MoveCount; way++)
                {
                    Move move = _program.Moves[edge.FirstMove + way];
                    Span<int> row = next.Slice(way * width, width);
                    current.Slice(move.Source * width, width).CopyTo(row);
                    Save(move, at, row);
                }
                Span<int> free = current;
                current = next;
                next = free;
            }
            state = edge.Target;
        }
        return TryAccept(state, current, line.Length, slots) || matched;
    }

    private bool TryAccept(int state, ReadOnlySpan<int> rows, int at, Span<int> slots)
    {
        int accept = _program.Accepts[state];
        if (accept < 0) { return false; }
        Move move = _program.Moves[accept];
        rows.Slice(move.Source * slots.Length, slots.Length).CopyTo(slots);
        Save(move, at, slots);
        return true;
    }

    private void Save(Move move, int at, Span<int> row)
    {
        for (int i = 0; i < move.SaveCount; i++) { row[_program.Saves[move.FirstSave + i]] = at; }
    }
}
