namespace HilRunner.Core.Documents;

public enum DocumentType { Rig, Scenario, Suite }

/// <summary>Tells documents apart by the key that names them: <c>rig:</c>, <c>scenario:</c> or <c>suite:</c>.</summary>
public static class DocumentKind
{
    private static readonly Dictionary<string, DocumentType> Keys = new(StringComparer.Ordinal)
    {
        ["rig"] = DocumentType.Rig,
        ["scenario"] = DocumentType.Scenario,
        ["suite"] = DocumentType.Suite,
    };

    /// <exception cref="BadInputException">The file cannot be read, is no YAML, or has none of the three keys.</exception>
    public static DocumentType Of(string path)
    {
        var faults = new DocumentFaults(path);
        Node? root = YamlTree.Read(DocumentReader.ReadText(path), faults);
        if (root is not null && TypeOf(root) is { } type) { return type; }
        if (root is not null) { faults.Add(root, root is MapNode { Entries: [var first, ..] }
            ? $"the first key {ScalarNode.Cut(first.Key.Text)}" : root.Shown, "rig:, scenario: or suite: as the first key",
            root is MapNode { Entries: [{ Key.Text: "acceptance" }, ..] } ? "play an acceptance plan with hil accept"
            : root is MapNode { Entries: [{ Key.Text: "sweep" }, ..] } ? "play a sweep plan with hil sweep" : ""); }
        faults.ThrowIfAny();
        throw new InvalidOperationException($"{path} was neither refused nor recognised");
    }

    /// <summary>Null for any other file.</summary>
    public static DocumentType? TryOf(string path)
    {
        try
        {
            return YamlTree.Read(DocumentReader.ReadText(path), new DocumentFaults(path)) is { } root ? TypeOf(root) : null;
        }
        catch (BadInputException)
        {
            return null;
        }
    }

    private static DocumentType? TypeOf(Node root) =>
        root is MapNode { Entries: [var first, ..] } && first.Value is ScalarNode && Keys.TryGetValue(first.Key.Text, out var type) ? type : null;
}
