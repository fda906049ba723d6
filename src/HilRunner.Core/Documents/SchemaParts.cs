using System.Text.Json.Nodes;

namespace HilRunner.Core.Documents;

/// <summary>Collects the titled parts of a document's schema under $defs, so that each stands there once.</summary>
internal sealed class SchemaParts
{
    private readonly HashSet<string> _begun = new(StringComparer.Ordinal);

    public JsonObject Definitions { get; } = [];

    /// <summary>The shape's schema, or a reference to it when the shape has a title.</summary>
    public JsonObject Of(IShape shape)
    {
        if (shape.Title is not { } title) { return shape.Schema(this); }
        string name = title.Replace(' ', '_').ToLowerInvariant();
        // A part that holds itself is met again before it is done.
        if (_begun.Add(name)) { Definitions[name] = shape.Schema(this); }
        return new() { ["$ref"] = $"#/$defs/{name}" };
    }
}
