using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace HilRunner.Fuzz.Tests.Mutations;

/// <summary>Damage that leaves a JSON document one: values of other kinds, nulls, depth, members gone and doubled.</summary>
internal static class JsonMutations
{
    private static readonly JsonSerializerOptions s_style =
        new() { WriteIndented = true, NewLine = "\n", Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping, MaxDepth = 1000 };
    private static readonly JsonSerializerOptions s_line = new(s_style) { WriteIndented = false };

    public static byte[] Step(byte[] bytes, Random random) => Changed(bytes, random, s_style) ?? bytes;

    /// <summary>One line of many.</summary>
    public static byte[] LineStep(byte[] bytes, Random random)
    {
        var lines = TextMutations.Lines(bytes);
        int at = random.Next(lines.Count);
        if (Changed(Encoding.Latin1.GetBytes(lines[at]), random, s_line) is { } changed)
        {
            lines[at] = Encoding.Latin1.GetString(changed);
        }
        return TextMutations.Joined(lines);
    }

    /// <summary>Null: it is none any more.</summary>
    private static byte[]? Changed(byte[] bytes, Random random, JsonSerializerOptions style)
    {
        JsonNode? root;
        List<JsonNode> holders;
        try
        {
            root = JsonNode.Parse(bytes, documentOptions: new() { MaxDepth = 1000 });
            if (root is not JsonObject and not JsonArray) { return null; }
            holders = [.. Holders(root)];
        }
        // No JSON, or a member twice or no UTF-8, which the object model does not hold.
        catch (Exception fault) when (fault is JsonException or ArgumentException or InvalidOperationException) { return null; }
        JsonNode holder = holders[random.Next(holders.Count)];
        string? twice = null;
        switch (holder)
        {
            case JsonObject { Count: > 0 } map:
                string key = map.ElementAt(random.Next(map.Count)).Key;
                switch (random.Next(6))
                {
                    case 0: map.Remove(key); break;
                    case 1: map[Nasty.Word(random)] = map[key]?.DeepClone(); break;
                    case 2: twice = key; break;
                    default: map[key] = Value(random, map[key]); break;
                }
                break;
            case JsonArray list:
                int at = random.Next(list.Count + 1);
                if (at == list.Count || random.Next(4) == 0) { list.Insert(at, Value(random, null)); }
                else if (random.Next(4) == 0) { list.RemoveAt(at); }
                else { list[at] = Value(random, list[at]); }
                break;
        }
        string text = root.ToJsonString(style);
        // A member twice: the object model cannot say that.
        if (twice is not null)
        {
            text = text.Replace($"\"{twice}\":", $"\"{twice}\": null, \"{twice}\":", StringComparison.Ordinal);
        }
        return Encoding.UTF8.GetBytes(text);
    }

    private static IEnumerable<JsonNode> Holders(JsonNode node)
    {
        yield return node;
        var below = node switch { JsonObject map => map.Select(m => m.Value), JsonArray list => list, _ => [] };
        foreach (var child in below.Where(c => c is JsonObject or JsonArray).SelectMany(c => Holders(c!))) { yield return child; }
    }

    private static JsonNode? Value(Random random, JsonNode? old)
    {
        switch (random.Next(9))
        {
            case 0: return null;
            case 1: return JsonValue.Create(random.Next(2) == 0);
            case 2: return new JsonArray();
            case 3: return new JsonObject();
            case 4: return JsonValue.Create(Nasty.Word(random));
            case 5: return new JsonArray(old?.DeepClone());
            case 6: return new JsonObject { ["a"] = old?.DeepClone() };
            case 7:
                JsonNode deep = new JsonArray();
                for (int i = random.Next(1, 200); i > 0; i--)
                {
                    deep = random.Next(2) == 0 ? new JsonArray(deep) : new JsonObject { ["a"] = deep };
                }
                return deep;
            default:
                try { return JsonNode.Parse(Nasty.Number(random)); }
                catch (JsonException) { return JsonValue.Create(random.Next() - (int.MaxValue / 2)); }
        }
    }
}
