namespace HilRunner.Transport.Decoding;

/// <summary>
/// Turns a parsed pattern into a table, when the next character always tells which piece of the pattern it belongs to
/// ("one-unambiguous": Brüggemann-Klein and Wood, "One-Unambiguous Regular Languages", Information and Computation
/// 140:229–253, 1998). First into instructions as in Thompson, "Regular Expression Search Algorithm", CACM 11(6), 1968; then each
/// character instruction becomes a state, and the ways from it to the next ones become its row.
/// </summary>
internal sealed class LinePatternCompiler
{
    private const int MostInstructions = 1024;

    private enum Operation { Character, Split, Jump, Save, Match }

    /// <param name="Next">Split: tried first. Jump: the target. Save: the slot.</param>
    private record struct Instruction(Operation Operation, UInt128 Set, int Next, int Otherwise);

    private readonly List<Instruction> _program = [];
    private readonly List<string> _groups = [];
    private readonly List<LinePattern.Edge> _edges = [new(0, 0, 0)];
    private readonly List<int> _saves = [];
    private readonly bool _endAnchored;

    private LinePatternCompiler(bool endAnchored) => _endAnchored = endAnchored;

    /// <summary>Null: not one-unambiguous, a group name used twice, or too large.</summary>
    public static LinePattern? Compile(LinePatternNode root, bool endAnchored)
    {
        var compiler = new LinePatternCompiler(endAnchored);
        if (!compiler.TryEmit(root)) { return null; }
        compiler._program.Add(new(Operation.Match, 0, 0, 0));
        return compiler.BuildTable();
    }

    private bool TryEmit(LinePatternNode node)
    {
        if (_program.Count > MostInstructions) { return false; }
        switch (node)
        {
            case LinePatternNode.Character character:
                _program.Add(new(Operation.Character, character.Set, 0, 0));
                return true;
            case LinePatternNode.Sequence sequence:
                return sequence.Items.All(TryEmit);
            case LinePatternNode.NamedGroup group:
                return TryEmitGroup(group);
            case LinePatternNode.Alternatives alternatives:
                return TryEmitAlternatives(alternatives.Items);
            default:
                return TryEmitRepeat((LinePatternNode.Repeat)node);
        }
    }

    private bool TryEmitGroup(LinePatternNode.NamedGroup group)
    {
        // Unrolling a repeat visits its groups again; a name written twice in the pattern does the same, and .NET then keeps a
        // stack of captures: both keep the last, so one slot serves.
        int index = _groups.IndexOf(group.Name);
        if (index < 0)
        {
            index = _groups.Count;
            _groups.Add(group.Name);
        }
        _program.Add(new(Operation.Save, 0, 2 * index, 0));
        bool emitted = TryEmit(group.Item);
        _program.Add(new(Operation.Save, 0, 2 * index + 1, 0));
        return emitted;
    }

    private bool TryEmitAlternatives(IReadOnlyList<LinePatternNode> items)
    {
        var jumps = new List<int>();
        for (int i = 0; i < items.Count; i++)
        {
            int split = _program.Count;
            bool last = i == items.Count - 1;
            if (!last) { _program.Add(default); }
            if (!TryEmit(items[i])) { return false; }
            if (last) { break; }
            jumps.Add(_program.Count);
            _program.Add(default);
            _program[split] = new(Operation.Split, 0, split + 1, _program.Count);
        }
        foreach (int jump in jumps) { _program[jump] = new(Operation.Jump, 0, _program.Count, 0); }
        return true;
    }

    private bool TryEmitRepeat(LinePatternNode.Repeat repeat)
    {
        for (int i = 0; i < repeat.Least; i++)
        {
            if (!TryEmit(repeat.Item)) { return false; }
        }
        if (repeat.Most < 0)
        {
            int split = _program.Count;
            _program.Add(default);
            if (!TryEmit(repeat.Item)) { return false; }
            _program.Add(new(Operation.Jump, 0, split, 0));
            PatchSplit(split, repeat.Lazy);
            return true;
        }
        var splits = new List<int>();
        for (int i = repeat.Least; i < repeat.Most; i++)
        {
            splits.Add(_program.Count);
            _program.Add(default);
            if (!TryEmit(repeat.Item)) { return false; }
        }
        foreach (int split in splits) { PatchSplit(split, repeat.Lazy); }
        return true;
    }

    private void PatchSplit(int split, bool lazy) => _program[split] = lazy
        ? new(Operation.Split, 0, _program.Count, split + 1)
        : new(Operation.Split, 0, split + 1, _program.Count);

    private LinePattern? BuildTable()
    {
        if (_program.Count > MostInstructions) { return null; }
        int[] stateOf = new int[_program.Count];
        int states = 1;
        for (int pc = 0; pc < _program.Count; pc++)
        {
            if (_program[pc].Operation == Operation.Character) { stateOf[pc] = states++; }
        }
        var table = new ushort[states * LinePattern.RowLength];
        var accepts = new ushort[states];
        if (!TryFillRow(0, 0, stateOf, table, accepts)) { return null; }
        for (int pc = 0; pc < _program.Count; pc++)
        {
            if (_program[pc].Operation == Operation.Character && !TryFillRow(stateOf[pc], pc + 1, stateOf, table, accepts)) { return null; }
        }
        return new(_groups, table, [.. _edges], [.. _saves], accepts, _endAnchored);
    }

    /// <summary>Follows all ways from <paramref name="from"/> without a character, the preferred ones first; false when two compete for one character.</summary>
    private bool TryFillRow(int state, int from, int[] stateOf, ushort[] table, ushort[] accepts)
    {
        var visited = new bool[_program.Count];
        var work = new Stack<(int Pc, int[] Saves)>();
        work.Push((from, []));
        while (work.TryPop(out (int Pc, int[] Saves) way))
        {
            if (visited[way.Pc]) { continue; }
            visited[way.Pc] = true;
            Instruction instruction = _program[way.Pc];
            switch (instruction.Operation)
            {
                case Operation.Split:
                    work.Push((instruction.Otherwise, way.Saves));
                    work.Push((instruction.Next, way.Saves));
                    break;
                case Operation.Jump:
                    work.Push((instruction.Next, way.Saves));
                    break;
                case Operation.Save:
                    work.Push((way.Pc + 1, [.. way.Saves, instruction.Next]));
                    break;
                case Operation.Match:
                    if (!TryAddEdge(0, way.Saves, out accepts[state])) { return false; }
                    // Without $ a match ends here for good, before any way that is tried later.
                    if (!_endAnchored) { work.Clear(); }
                    break;
                default:
                    if (!TryAddEdge(stateOf[way.Pc], way.Saves, out ushort edge)) { return false; }
                    for (int c = 0; c < LinePattern.RowLength; c++)
                    {
                        if ((instruction.Set >> c & 1) == 0) { continue; }
                        ref ushort cell = ref table[state * LinePattern.RowLength + c];
                        if (cell != 0) { return false; }
                        cell = edge;
                    }
                    break;
            }
        }
        return true;
    }

    private bool TryAddEdge(int target, int[] saves, out ushort edge)
    {
        edge = (ushort)_edges.Count;
        _edges.Add(new(target, _saves.Count, saves.Length));
        _saves.AddRange(saves);
        return _edges.Count < ushort.MaxValue;
    }
}
