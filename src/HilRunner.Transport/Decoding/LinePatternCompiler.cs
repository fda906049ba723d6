namespace HilRunner.Transport.Decoding;

/// <summary>
/// Turns a parsed pattern into instructions (Thompson, "Regular Expression Search Algorithm", CACM 11(6), 1968), the preferred way of each
/// choice first; <see cref="LinePatternTable"/> makes the table of them.
/// </summary>
internal sealed class LinePatternCompiler
{
    private const int MostInstructions = 1024;

    internal enum Operation { Character, Split, Jump, Save, Match }

    /// <param name="Next">Split: tried first. Jump: the target. Save: the slot.</param>
    internal record struct Instruction(Operation Operation, UInt128 Set, int Next, int Otherwise);

    private readonly List<Instruction> _program = [];
    private readonly List<string> _groups = [];

    /// <summary>Null: too large for a table.</summary>
    public static LinePattern? Compile(LinePatternNode root, bool endAnchored)
    {
        var compiler = new LinePatternCompiler();
        if (!compiler.TryEmit(root) || compiler._program.Count > MostInstructions) { return null; }
        compiler._program.Add(new(Operation.Match, 0, 0, 0));
        return LinePatternTable.TryBuild(compiler._program, 2 * compiler._groups.Count, endAnchored) is { } table
            ? new(compiler._groups, table, endAnchored)
            : null;
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
}
