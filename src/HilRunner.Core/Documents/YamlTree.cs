using YamlDotNet.Core;
using YamlDotNet.Core.Events;

namespace HilRunner.Core.Documents;

/// <summary>
/// Reads the text of a document into nodes with their places. One YAML document of maps, lists and scalars; anchors,
/// aliases and tags are faults, because a fault in a shared part would have two places. Depth and number of the nodes are
/// limited, so that no text costs more than a real document does. Every YAML file of the tool is read here.
/// </summary>
internal sealed class YamlTree
{
    /// <summary>
    /// Deepest nesting of maps and lists; the tree of a model has up to 32 levels, other documents stay below 10.
    /// </summary>
    public const int Deepest = 48;

    /// <summary>
    /// Most keys and values of one document; the largest real ones, suites of thousands of scenarios, have some 20 000.
    /// </summary>
    public const int MostNodes = 100_000;

    /// <summary>Longest path of a node, in characters: a longer one keeps its end.</summary>
    private const int LongestPath = 300, KeptPath = 200;

    private readonly GuardedParser _parser;
    private readonly DocumentFaults _faults;
    private int _nodes;

    private YamlTree(string text, DocumentFaults faults)
    {
        _parser = new GuardedParser(new Parser(new StringReader(text)));
        _faults = faults;
    }

    /// <summary>Null when there is nothing usable; then a fault says why.</summary>
    /// <param name="mayBeEmpty">Nothing but comments is no fault.</param>
    public static Node? Read(string text, DocumentFaults faults, bool mayBeEmpty = false)
    {
        var tree = new YamlTree(text, faults);
        try
        {
            return tree.ReadDocument(mayBeEmpty);
        }
        catch (TooMuchException e)
        {
            faults.Add((int)e.Start.Line, (int)e.Start.Column, e.Message, e.Expected, "split the document");
            return null;
        }
        catch (YamlException e)
        {
            AddSyntaxFault(text, e, faults);
            return null;
        }
    }

    private static void AddSyntaxFault(string text, YamlException e, DocumentFaults faults)
    {
        string message = "not YAML: " + e.Message.TrimEnd('.');
        int line = (int)e.Start.Line, column = (int)e.Start.Column;
        string[] lines = text.Split('\n');
        // The scanner reports where the value before the tab began; the tab itself is what has to go.
        for (int i = Math.Max(0, line - 1); i < Math.Min(lines.Length, line + 1); i++)
        {
            int indent = lines[i].Length - lines[i].TrimStart(' ', '\t').Length, tab = lines[i].IndexOf('\t', StringComparison.Ordinal);
            if (tab < 0 || tab >= indent) { continue; }
            faults.Add(i + 1, tab + 1, "a tab in the indentation", "blanks", "YAML forbids tabs there");
            return;
        }
        faults.Add(line, column, message, "a YAML 1.2 document", "look at this place for a missing quote, bracket or blank after a colon");
    }

    private Node? ReadDocument(bool mayBeEmpty)
    {
        _parser.Consume<StreamStart>();
        if (_parser.Accept<StreamEnd>(out _))
        {
            if (!mayBeEmpty) { _faults.Add(0, 0, "an empty file", "a YAML document"); }
            return null;
        }
        _parser.Consume<DocumentStart>();
        Node root = ReadNode("", 0);
        _parser.Consume<DocumentEnd>();
        if (_parser.TryConsume<DocumentStart>(out var second))
        {
            _faults.Add((int)second.Start.Line, (int)second.Start.Column, "a second document", "one document in a file", "put it into a file of its own");
        }
        return root;
    }

    private Node ReadNode(string path, int depth)
    {
        if (++_nodes > MostNodes)
        {
            throw new TooMuchException(_parser.Current!.Start, $"more than {MostNodes} keys and values", $"at most {MostNodes}");
        }
        if (_parser.TryConsume<AnchorAlias>(out var alias))
        {
            _faults.Add((int)alias.Start.Line, (int)alias.Start.Column, $"the alias *{alias.Value} for {Named(path)}", "the value itself", "write it out: aliases are not read");
            return new BrokenNode(path, (int)alias.Start.Line, (int)alias.Start.Column);
        }
        if (_parser.Accept<NodeEvent>(out var node)) { RefuseProperties(node, path); }
        if (_parser.TryConsume<Scalar>(out var scalar)) { return ScalarOf(scalar, path); }
        // What is no node, such as the end of a map, is refused by what reads it.
        if (depth == Deepest && node is not null)
        {
            throw new TooMuchException(
                node.Start, $"maps and lists that are nested deeper than {Deepest}", $"at most {Deepest} levels");
        }
        return _parser.Accept<SequenceStart>(out _) ? ReadList(path, depth) : ReadMap(path, depth);
    }

    private ListNode ReadList(string path, int depth)
    {
        var start = _parser.Consume<SequenceStart>();
        var items = new List<Node>();
        while (!_parser.TryConsume<SequenceEnd>(out _)) { items.Add(ReadNode($"{path}[{items.Count}]", depth + 1)); }
        return new(path, (int)start.Start.Line, (int)start.Start.Column, items);
    }

    private MapNode ReadMap(string path, int depth)
    {
        var start = _parser.Consume<MappingStart>();
        var entries = new List<Entry>();
        var seen = new Dictionary<string, int>(StringComparer.Ordinal);
        while (!_parser.TryConsume<MappingEnd>(out _))
        {
            Node key = ReadNode(path, depth + 1);
            Node value = ReadNode(key is ScalarNode k ? Join(path, k.Text) : path, depth + 1);
            if (key is not ScalarNode name)
            {
                _faults.Add(key, $"{key.Shown} as a key", "a word as a key");
                continue;
            }
            if (seen.TryGetValue(name.Text, out int first))
            {
                _faults.Add(name, $"{ScalarNode.Cut(Join(path, name.Text))} a second time",
                    $"each key once (first on line {first})", "remove one of them");
                continue;
            }
            seen.Add(name.Text, name.Line);
            entries.Add(new(name, value));
        }
        return new(path, (int)start.Start.Line, (int)start.Start.Column, entries);
    }

    private static ScalarNode ScalarOf(Scalar scalar, string path) =>
        new(path, (int)scalar.Start.Line, (int)scalar.Start.Column, scalar.Value, scalar.Style == ScalarStyle.Plain);

    private void RefuseProperties(NodeEvent node, string path)
    {
        if (!node.Anchor.IsEmpty)
        {
            _faults.Add((int)node.Start.Line, (int)node.Start.Column, $"the anchor &{node.Anchor.Value} at {Named(path)}", "no anchors", "remove it: aliases are not read");
        }
        if (!node.Tag.IsEmpty && !node.Tag.IsNonSpecific)
        {
            _faults.Add((int)node.Start.Line, (int)node.Start.Column, $"the tag {node.Tag.Value} at {Named(path)}", "no tags", "remove it");
        }
    }

    private static string Named(string path) => path.Length == 0 ? "the document" : path;

    /// <summary>Bounded, so that a long key over many values costs no more than a short one.</summary>
    private static string Join(string path, string key)
    {
        string joined = path.Length == 0 ? key : $"{path}.{key}";
        return joined.Length <= LongestPath ? joined : "…" + joined[^KeptPath..];
    }

    /// <summary>A limit is reached, and where.</summary>
    private sealed class TooMuchException(Mark start, string found, string expected) : YamlException(start, start, found)
    {
        public string Expected => expected;
    }
}
