using System.Diagnostics.CodeAnalysis;
using System.Text.Json.Nodes;

namespace HilRunner.Core.Documents;

/// <summary>One key of a map.</summary>
internal interface IKey
{
    string Name { get; }
    string Doc { get; }
    bool Required { get; }
    /// <summary>As it would be written in a file; null: nothing stands for an absent key.</summary>
    string? Default { get; }
    IShape Shape { get; }
    bool TryRead(Node node, Reading reading, out object? value);
}

internal interface IKey<T> : IKey
{
    new Shape<T> Shape { get; }
}

internal sealed record Key<T>(string Name, Shape<T> Shape, string Doc, bool Required, string? Default) : IKey<T>
{
    IShape IKey.Shape => Shape;
    public bool TryRead(Node node, Reading reading, out object? value)
    {
        bool usable = Shape.TryRead(node, reading, out T? read);
        value = read;
        return usable;
    }
}

/// <summary>Makes the keys of a <see cref="OneKeyShape{T}"/>.</summary>
internal static class Case
{
    public static IKey<T> Of<T>(string name, Shape<T> shape, string doc) => new Key<T>(name, shape, doc, false, null);
}

/// <summary>The keys of one map and the relations between them.</summary>
internal sealed class MapKeys
{
    private readonly List<IKey> _keys = [];
    private readonly List<string[]> _exactlyOne = [];
    private readonly List<string[]> _atMostOne = [];
    private readonly List<Action<Entries, Reading>> _checks = [];

    public IReadOnlyList<IKey> Keys => _keys;
    public IReadOnlyList<string[]> ExactlyOnes => _exactlyOne;
    public IReadOnlyList<string[]> AtMostOnes => _atMostOne;
    public IReadOnlyList<Action<Entries, Reading>> Checks => _checks;
    /// <summary>Fewest keys the map must have.</summary>
    public int Fewest { get; set; }

    public Key<T> Required<T>(string name, Shape<T> shape, string doc) => Add(new Key<T>(name, shape, doc, true, null));

    /// <summary>Absent: nothing.</summary>
    public Key<T> Optional<T>(string name, Shape<T> shape, string doc) => Add(new Key<T>(name, shape, doc, false, null));

    /// <summary>Absent: as if <paramref name="value"/> had been written.</summary>
    public Key<T> Default<T>(string name, Shape<T> shape, string value, string doc) => Add(new Key<T>(name, shape, doc, false, value));

    public void ExactlyOne(params IKey[] keys) => _exactlyOne.Add([.. keys.Select(k => k.Name)]);

    public void AtMostOne(params IKey[] keys) => _atMostOne.Add([.. keys.Select(k => k.Name)]);

    /// <summary>A check beyond one key; it runs whatever else is wrong, so it asks which entries are usable.</summary>
    public void Check(Action<Entries, Reading> check) => _checks.Add(check);

    private Key<T> Add<T>(Key<T> key)
    {
        _keys.Add(key);
        return key;
    }
}

/// <summary>What a map holds after reading.</summary>
internal sealed class Entries(MapNode node, Dictionary<IKey, object?> values)
{
    public MapNode Node => node;
    public bool Has(IKey key) => node[key.Name] is not null;

    /// <summary>The node of a key's value, or the map where the key is absent.</summary>
    public Node NodeOf(IKey key) => node[key.Name] ?? node;

    /// <summary>The value of a required key or of one with a default.</summary>
    public T Get<T>(Key<T> key) => (T)values[key]!;

    public T? Maybe<T>(Key<T> key) where T : class => values.TryGetValue(key, out object? value) ? (T?)value : null;

    public T? MaybeValue<T>(Key<T> key) where T : struct => values.TryGetValue(key, out object? value) ? (T?)value : null;

    /// <summary>False: absent without default, or unusable.</summary>
    public bool TryGet<T>(Key<T> key, [MaybeNullWhen(false)] out T value)
    {
        bool there = values.TryGetValue(key, out object? held);
        value = there ? (T?)held : default;
        return there;
    }
}

internal static class MapShape
{
    /// <param name="title">Heading of its own table in the docs; null: it stands in the table of what holds it.</param>
    /// <param name="form">What is expected.</param>
    /// <param name="describe">Declares the keys and returns what makes the value from them; called once.</param>
    public static MapShape<T> Of<T>(string? title, string form, Func<MapKeys, Func<Entries, Reading, T>> describe)
    {
        var keys = new MapKeys();
        return new(title, form, keys, describe(keys));
    }

    /// <summary>Reads one key of a map into <paramref name="values"/>; a required key that is absent is a fault.</summary>
    public static void ReadKey(IKey key, MapNode map, string form, Reading reading, Dictionary<IKey, object?> values)
    {
        Node? child = map[key.Name];
        if (child is null && key.Required)
        {
            string where = map.Path.Length == 0 ? form : map.Path;
            reading.Faults.Add(map, $"no {key.Name} in {where}", $"{key.Name}: {key.Shape.Form}");
            return;
        }
        if (child is null && key.Default is null) { return; }
        child ??= YamlTree.Read(key.Default!, reading.Faults)!;
        if (key.TryRead(child, reading, out object? value)) { values[key] = value; }
    }

    /// <summary>The schema of a key's value with what the docs say of it.</summary>
    public static JsonObject Described(IKey key, SchemaParts parts)
    {
        JsonObject schema = parts.Of(key.Shape);
        schema["description"] = key.Doc;
        if (key.Default is not null) { schema["default"] = NodeJson.Of(YamlTree.Read(key.Default, new DocumentFaults("default"))!); }
        return schema;
    }
}

internal sealed class MapShape<T>(string? title, string form, MapKeys keys, Func<Entries, Reading, T> build) : Shape<T>
{
    public override string? Title => title;
    public override string Form => form;
    public IReadOnlyList<IKey> Keys => keys.Keys;
    public override IEnumerable<Part> Parts => keys.Keys.Select(k => new Part("." + k.Name, k, k.Shape));

    public override JsonObject Schema(SchemaParts parts)
    {
        var properties = new JsonObject();
        foreach (IKey key in keys.Keys) { properties[key.Name] = MapShape.Described(key, parts); }
        var schema = new JsonObject
        {
            ["type"] = "object",
            ["properties"] = properties,
            ["required"] = new JsonArray([.. keys.Keys.Where(k => k.Required).Select(k => (JsonNode)k.Name)]),
            ["additionalProperties"] = false,
        };
        if (keys.Fewest > 0) { schema["minProperties"] = keys.Fewest; }
        var relations = new JsonArray();
        foreach (string[] names in keys.ExactlyOnes)
        {
            relations.Add(new JsonObject { ["oneOf"] = new JsonArray([.. names.Select(n => (JsonNode)Requires(n))]) });
        }
        foreach (string[] names in keys.AtMostOnes)
        {
            relations.Add(new JsonObject { ["not"] = Requires(names) });
        }
        if (relations.Count > 0) { schema["allOf"] = relations; }
        return schema;
    }

    public override bool TryRead(Node node, Reading reading, [MaybeNullWhen(false)] out T value)
    {
        if (node is not MapNode map) { return Refuse(node, reading, out value); }
        long before = reading.Faults.Count;
        RefuseUnknown(map, reading);
        var values = new Dictionary<IKey, object?>();
        foreach (IKey key in keys.Keys) { MapShape.ReadKey(key, map, form, reading, values); }
        if (map.Entries.Count < keys.Fewest) { reading.Refuse(map, "an empty map", form); }
        RefuseRelations(map, reading);
        var entries = new Entries(map, values);
        foreach (var check in keys.Checks) { check(entries, reading); }
        value = default;
        if (reading.Faults.Count != before) { return false; }
        value = build(entries, reading);
        return reading.Faults.Count == before;
    }

    private void RefuseUnknown(MapNode map, Reading reading)
    {
        string known = string.Join(", ", keys.Keys.Select(k => k.Name)), where = map.Path.Length == 0 ? "" : $" in {map.Path}";
        foreach (var (key, _) in map.Entries)
        {
            if (keys.Keys.Any(k => k.Name == key.Text)) { continue; }
            // What is only counted needs no remedy: the search for the nearest key is the dear part of a file full of strange
            // ones.
            var free = keys.Keys.Select(k => k.Name).Where(n => map[n] is null);
            string? near = reading.Faults.IsFull ? null
                : EditDistance.Nearest(key.Text, free) ?? EditDistance.Nearest(key.Text, keys.Keys.Select(k => k.Name));
            reading.Faults.Add(key, $"unknown key \"{ScalarNode.Cut(key.Text)}\"{where}",
                $"one of {known}", near is null ? "" : $"did you mean {near}?");
        }
    }

    private void RefuseRelations(MapNode map, Reading reading)
    {
        foreach (string[] names in keys.ExactlyOnes)
        {
            string[] given = [.. names.Where(n => map[n] is not null)];
            if (given.Length == 1) { continue; }
            string found = given.Length == 0 ? $"neither {string.Join(" nor ", names)}" : $"both {string.Join(" and ", given)}";
            Node at = given.Length == 0 ? map : map[given[^1]]!;
            string where = map.Path.Length == 0 ? form : map.Path;
            reading.Faults.Add(at, $"{found} in {where}", $"exactly one of {string.Join(" and ", names)}", given.Length == 0 ? "" : "remove one of them");
        }
        foreach (string[] names in keys.AtMostOnes)
        {
            if (names.All(n => map[n] is not null))
            {
                reading.Faults.Add(map[names[^1]]!, $"both {string.Join(" and ", names)} in {map.Path}", $"only one of {string.Join(" and ", names)}", "remove one of them");
            }
        }
    }

    private static JsonObject Requires(params string[] names) => new() { ["required"] = new JsonArray([.. names.Select(n => (JsonNode)n)]) };
}
