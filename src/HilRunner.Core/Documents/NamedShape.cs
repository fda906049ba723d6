using System.Diagnostics.CodeAnalysis;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;

namespace HilRunner.Core.Documents;

/// <summary>What a <see cref="NamedShape{T}"/> read: the user's own keys in the order of the file, and the fixed ones.</summary>
internal sealed record Named<T>(IReadOnlyList<KeyValuePair<ScalarNode, T>> Own, Entries Fixed);

/// <summary>A map whose keys the user chooses, beside a few fixed ones.</summary>
/// <param name="form">What is expected.</param>
/// <param name="placeholder">What a key is, for the docs: NAME.</param>
/// <param name="keyPattern">What a key may look like: a regular expression common to .NET and ECMA-262.</param>
/// <param name="item">The value of a user's key.</param>
/// <param name="min">Fewest of the user's keys.</param>
/// <param name="max">Most of the user's keys.</param>
/// <param name="fixedKeys">Keys that are not the user's.</param>
internal sealed class NamedShape<T>(string form, string placeholder, string keyPattern, Shape<T> item, int min = 0, int max = 10_000, params IKey[] fixedKeys)
    : Shape<Named<T>>
{
    private readonly Regex _key = new(keyPattern, RegexOptions.CultureInvariant | RegexOptions.NonBacktracking);

    public override string Form => form;
    public override IEnumerable<Part> Parts => [new("." + placeholder, null, item), .. fixedKeys.Select(k => new Part("." + k.Name, k, k.Shape))];

    public override JsonObject Schema(SchemaParts parts)
    {
        var properties = new JsonObject();
        foreach (IKey key in fixedKeys) { properties[key.Name] = MapShape.Described(key, parts); }
        return new()
        {
            ["type"] = "object",
            ["properties"] = properties,
            ["propertyNames"] = new JsonObject { ["pattern"] = keyPattern },
            ["additionalProperties"] = parts.Of(item),
            ["minProperties"] = min,
            ["maxProperties"] = max + fixedKeys.Length,
        };
    }

    public override bool TryRead(Node node, Reading reading, [MaybeNullWhen(false)] out Named<T> value)
    {
        if (node is not MapNode map) { return Refuse(node, reading, out value); }
        long before = reading.Faults.Count;
        var own = new List<KeyValuePair<ScalarNode, T>>();
        foreach (var (key, child) in map.Entries.Where(e => fixedKeys.All(k => k.Name != e.Key.Text)))
        {
            if (!_key.IsMatch(key.Text))
            {
                reading.Faults.Add(key, $"the key \"{ScalarNode.Cut(key.Text)}\" in {node.Path}", form);
            }
            if (item.TryRead(child, reading, out T? read)) { own.Add(new(key, read)); }
        }
        var values = new Dictionary<IKey, object?>();
        foreach (IKey key in fixedKeys) { MapShape.ReadKey(key, map, form, reading, values); }
        int count = map.Entries.Count(e => fixedKeys.All(k => k.Name != e.Key.Text));
        if (count < min || count > max)
        {
            reading.Refuse(node, count == 0 ? "a map without a name" : $"a map with {map.NamedKeys(", ")}", form);
        }
        value = new(own, new Entries(map, values));
        return reading.Faults.Count == before;
    }
}
