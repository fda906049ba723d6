namespace HilRunner.Core.Documents;

/// <summary>A value of a document and where it stands.</summary>
/// <param name="Path">Where in the document, as a person would say it: device.link.serial.baud, limits[2].at_most.</param>
/// <param name="Line">1-based; 0 where the document has no lines (a URL).</param>
/// <param name="Column">1-based; 0 where the document has no lines.</param>
internal abstract record Node(string Path, int Line, int Column)
{
    /// <summary>What it is, for a message: a list, a map, "12".</summary>
    public abstract string Shown { get; }

    /// <summary>The value under keys (text) and list indexes (numbers); the nearest one above when it is absent.</summary>
    public Node At(params object[] steps)
    {
        Node at = this;
        foreach (object step in steps)
        {
            Node? next = (at, step) switch
            {
                (MapNode map, string key) => map[key],
                (ListNode list, int index) => list.Items.ElementAtOrDefault(index),
                _ => null,
            };
            if (next is null) { return at; }
            at = next;
        }
        return at;
    }
}

/// <summary>What a scalar is by the YAML 1.2 core schema (YAML 1.2.2, section 10.3.2).</summary>
internal enum ScalarKind { Null, Boolean, Integer, Float, Text }

/// <param name="Plain">False: written in quotes or as a block, so it is text whatever it looks like.</param>
internal sealed record ScalarNode(string Path, int Line, int Column, string Text, bool Plain) : Node(Path, Line, Column)
{
    private const int LongestShown = 60;

    public ScalarKind Kind => Plain ? CoreSchema.KindOf(Text) : ScalarKind.Text;
    public override string Shown => Kind == ScalarKind.Null ? "empty" : $"\"{Cut(Text)}\"";

    /// <summary>A text as a message shows it: its beginning where it is long.</summary>
    public static string Cut(string text) => text.Length <= LongestShown ? text : text[..LongestShown] + "…";
}

internal sealed record ListNode(string Path, int Line, int Column, IReadOnlyList<Node> Items) : Node(Path, Line, Column)
{
    public override string Shown => "a list";
}

/// <summary>Entries in the order of the file, each key once.</summary>
internal sealed record MapNode(string Path, int Line, int Column, IReadOnlyList<Entry> Entries) : Node(Path, Line, Column)
{
    /// <summary>Keys named in a message; the rest is a number.</summary>
    private const int MostNamed = 8;

    /// <summary>
    /// From so many keys on a look-up takes a table: a map full of strange keys is looked into for every known one.
    /// </summary>
    private const int Many = 32;

    /// <summary>Of these entries: a copy with others makes its own.</summary>
    private (IReadOnlyList<Entry> Of, Dictionary<string, Node> Values)? _table;

    public override string Shown => "a map";
    public Node? this[string key] =>
        Entries.Count < Many ? Entries.FirstOrDefault(e => e.Key.Text == key)?.Value : Table().GetValueOrDefault(key);

    /// <summary>The keys for a message: the first few, then how many more.</summary>
    /// <param name="separator">Between them.</param>
    public string NamedKeys(string separator)
    {
        string named = string.Join(separator, Entries.Take(MostNamed).Select(e => ScalarNode.Cut(e.Key.Text)));
        return Entries.Count <= MostNamed ? named : $"{named} and {Entries.Count - MostNamed} more";
    }

    private Dictionary<string, Node> Table()
    {
        if (_table is { } made && ReferenceEquals(made.Of, Entries)) { return made.Values; }
        var values = new Dictionary<string, Node>(Entries.Count, StringComparer.Ordinal);
        foreach (var (key, value) in Entries) { values.TryAdd(key.Text, value); }
        _table = (Entries, values);
        return values;
    }
}

/// <summary>Where a value could not be read and a fault already says so.</summary>
internal sealed record BrokenNode(string Path, int Line, int Column) : Node(Path, Line, Column)
{
    public override string Shown => "unreadable";
}

internal sealed record Entry(ScalarNode Key, Node Value);
