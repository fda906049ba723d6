using static HilRunner.Transport.Decoding.LinePatternCompiler;

namespace HilRunner.Transport.Decoding;

/// <summary>
/// Works out beforehand all combinations of ways through a pattern that can be open at once, in order of preference: each is a state, and for
/// each character the step to the next state says which way goes on from which and where groups begin and end.
/// (Determinised simulation with captures, in the manner of Laurikari, "NFAs with Tagged Transitions, their Conversion to Deterministic
/// Automata and Application to Regular Expressions", SPIRE 2000, with a full row of slots for each way instead of minimal registers.)
/// </summary>
internal sealed class LinePatternTable
{
    private const int MostStates = 512;
    private const int MostWays = 32;
    private const int MostSlotsAtOnce = 1024;

    /// <summary>A way that reaches an instruction: from which open way, saving which slots.</summary>
    private readonly record struct Reached(int Instruction, int Source, int[] Saves);

    private readonly List<Instruction> _program;
    private readonly bool _endAnchored;
    /// <summary>Open ways of each state: the character instruction each has just passed, −1 at the start.</summary>
    private readonly List<int[]> _states = [[-1]];
    private readonly Dictionary<string, int> _known = new(StringComparer.Ordinal) { ["-1"] = 0 };
    private readonly List<ushort> _cells = [];
    private readonly List<LinePattern.Edge> _edges = [default];
    private readonly List<LinePattern.Move> _moves = [];
    private readonly List<int> _saves = [];
    private readonly List<int> _accepts = [];
    private int _mostWays = 1;

    private LinePatternTable(List<Instruction> program, bool endAnchored) => (_program, _endAnchored) = (program, endAnchored);

    /// <summary>Null: too many combinations.</summary>
    public static LinePattern.Program? TryBuild(List<Instruction> program, int slots, bool endAnchored)
    {
        var table = new LinePatternTable(program, endAnchored);
        for (int state = 0; state < table._states.Count; state++)
        {
            table.AddRow(table._states[state]);
            if (table._states.Count > MostStates || table._edges.Count > ushort.MaxValue || table._mostWays > MostWays
                || table._mostWays * slots > MostSlotsAtOnce)
            {
                return null;
            }
        }
        return new([.. table._cells], [.. table._edges], [.. table._moves], [.. table._saves], [.. table._accepts], table._mostWays);
    }

    private void AddRow(int[] ways)
    {
        List<Reached> reached = Follow(ways, out int accept);
        _accepts.Add(accept);
        var edges = new Dictionary<string, ushort>(StringComparer.Ordinal);
        for (int c = 0; c < LinePattern.RowLength; c++)
        {
            Reached[] open = [.. reached.Where(r => (_program[r.Instruction].Set >> c & 1) != 0)];
            if (open.Length == 0)
            {
                _cells.Add(0);
                continue;
            }
            string key = string.Join(',', open.Select(r => r.Instruction));
            if (!edges.TryGetValue(key, out ushort edge))
            {
                edge = (ushort)_edges.Count;
                edges.Add(key, edge);
                AddEdge(key, open, ways.Length);
            }
            _cells.Add(edge);
        }
    }

    private void AddEdge(string key, Reached[] open, int waysBefore)
    {
        if (!_known.TryGetValue(key, out int target))
        {
            target = _states.Count;
            _known.Add(key, target);
            _states.Add([.. open.Select(r => r.Instruction)]);
            _mostWays = Math.Max(_mostWays, open.Length);
        }
        int firstMove = _moves.Count;
        foreach (Reached way in open) { AddMove(way); }
        _edges.Add(new(target, firstMove, open.Length, waysBefore == 1 && open.Length == 1));
    }

    private int AddMove(Reached way)
    {
        _moves.Add(new(way.Source, _saves.Count, way.Saves.Length));
        _saves.AddRange(way.Saves);
        return _moves.Count - 1;
    }

    /// <summary>
    /// All character instructions that can be next, the preferred ones first; a less preferred way to the same instruction can never win and is left
    /// out.
    /// </summary>
    private List<Reached> Follow(int[] ways, out int accept)
    {
        accept = -1;
        var reached = new List<Reached>();
        var visited = new bool[_program.Count];
        var work = new Stack<Reached>();
        for (int way = ways.Length - 1; way >= 0; way--) { work.Push(new(ways[way] + 1, way, [])); }
        while (work.TryPop(out Reached at))
        {
            if (visited[at.Instruction]) { continue; }
            visited[at.Instruction] = true;
            Instruction instruction = _program[at.Instruction];
            switch (instruction.Operation)
            {
                case Operation.Split:
                    work.Push(at with { Instruction = instruction.Otherwise });
                    work.Push(at with { Instruction = instruction.Next });
                    break;
                case Operation.Jump:
                    work.Push(at with { Instruction = instruction.Next });
                    break;
                case Operation.Save:
                    work.Push(at with { Instruction = at.Instruction + 1, Saves = [.. at.Saves, instruction.Next] });
                    break;
                case Operation.Match:
                    accept = AddMove(at);
                    // Without $ the match ends here for good, before any way that is less preferred.
                    if (!_endAnchored) { work.Clear(); }
                    break;
                default:
                    reached.Add(at);
                    break;
            }
        }
        return reached;
    }
}
