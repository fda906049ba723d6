using System.Diagnostics.CodeAnalysis;
using System.Text.Json.Nodes;

namespace HilRunner.Core.Documents;

internal sealed class ListShape<T>(string form, Shape<T> item, int min = 0, int max = 10_000) : Shape<IReadOnlyList<T>>
{
    public override string Form => form;
    public override IEnumerable<Part> Parts => [new("[]", null, item)];

    public override JsonObject Schema(SchemaParts parts) => new()
    {
        ["type"] = "array",
        ["items"] = parts.Of(item),
        ["minItems"] = min,
        ["maxItems"] = max,
    };

    public override bool TryRead(Node node, Reading reading, [MaybeNullWhen(false)] out IReadOnlyList<T> value)
    {
        if (node is not ListNode list)
        {
            return Refuse(node, reading, out value, remedy: node is ScalarNode { Kind: not ScalarKind.Null } ? "put it into brackets: [ … ]" : "");
        }
        if (list.Items.Count < min || list.Items.Count > max)
        {
            string expected = list.Items.Count < min ? $"{form} with at least {min}" : $"{form} with at most {max}";
            reading.Refuse(node, $"a list of {list.Items.Count}", expected);
            value = null;
            return false;
        }
        var items = new List<T>(list.Items.Count);
        foreach (Node child in list.Items)
        {
            if (item.TryRead(child, reading, out T? read)) { items.Add(read); }
        }
        value = items;
        return items.Count == list.Items.Count;
    }
}
