using System.Diagnostics.CodeAnalysis;
using System.Text.Json.Nodes;

namespace HilRunner.Core.Documents;

/// <summary>A value that may be written in several ways, told apart by its kind: a word, a list or a map.</summary>
internal sealed class EitherShape<T>(string form, Shape<T>? scalar = null, Shape<T>? list = null, Shape<T>? map = null) : Shape<T>
{
    public override string Form => form;
    private IEnumerable<Shape<T>> Ways => new[] { scalar, list, map }.OfType<Shape<T>>();
    public override IEnumerable<Part> Parts => Ways.Select(w => new Part("", null, w));
    public override JsonObject Schema(SchemaParts parts) => new() { ["anyOf"] = new JsonArray([.. Ways.Select(w => (JsonNode)parts.Of(w))]) };

    public override bool TryRead(Node node, Reading reading, [MaybeNullWhen(false)] out T value)
    {
        Shape<T>? way = node switch
        {
            ScalarNode { Kind: ScalarKind.Null } => null,
            ScalarNode => scalar,
            ListNode => list,
            _ => map,
        };
        return way is null ? Refuse(node, reading, out value) : way.TryRead(node, reading, out value);
    }
}

/// <summary>A map with exactly one key, which says what kind of thing it is: {serial: {…}}.</summary>
internal sealed class OneKeyShape<T>(string form, params IKey<T>[] cases) : Shape<T>
{
    public override string Form => $"{form}: one of {string.Join(", ", cases.Select(c => c.Name))}";
    public override IEnumerable<Part> Parts => cases.Select(c => new Part("." + c.Name, c, c.Shape));

    public override JsonObject Schema(SchemaParts parts)
    {
        var properties = new JsonObject();
        foreach (var one in cases) { properties[one.Name] = MapShape.Described(one, parts); }
        return new()
        {
            ["type"] = "object",
            ["properties"] = properties,
            ["additionalProperties"] = false,
            ["minProperties"] = 1,
            ["maxProperties"] = 1,
        };
    }

    public override bool TryRead(Node node, Reading reading, [MaybeNullWhen(false)] out T value)
    {
        if (node is not MapNode map) { return Refuse(node, reading, out value); }
        if (map.Entries.Count != 1)
        {
            string found = map.Entries.Count == 0 ? "an empty map" : $"a map with {map.NamedKeys(" and ")}";
            return Refuse(node, reading, out value, found, "give exactly one of them");
        }
        var (key, child) = map.Entries[0];
        var chosen = cases.FirstOrDefault(c => c.Name == key.Text);
        if (chosen is null)
        {
            string? near = EditDistance.Nearest(key.Text, cases.Select(c => c.Name));
            reading.Faults.Add(key, $"unknown key \"{ScalarNode.Cut(key.Text)}\" in {node.Path}",
                Form, near is null ? "" : $"did you mean {near}?");
            value = default;
            return false;
        }
        return chosen.Shape.TryRead(child, reading, out value);
    }
}
