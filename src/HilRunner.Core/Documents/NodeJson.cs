using System.Globalization;
using System.Text.Json.Nodes;

namespace HilRunner.Core.Documents;

/// <summary>A document as the JSON that a JSON Schema is applied to: scalars by the YAML 1.2 core schema, keys as text.</summary>
internal static class NodeJson
{
    /// <summary>Null for an empty scalar. Numbers that JSON cannot hold (.inf, .nan) become their text.</summary>
    public static JsonNode? Of(Node node)
    {
        switch (node)
        {
            case ListNode list:
                return new JsonArray([.. list.Items.Select(Of)]);
            case MapNode map:
                var json = new JsonObject();
                foreach (var (key, value) in map.Entries) { json[key.Text] = Of(value); }
                return json;
            case ScalarNode scalar:
                return OfScalar(scalar);
            default:
                return null;
        }
    }

    private static JsonValue? OfScalar(ScalarNode scalar) => scalar.Kind switch
    {
        ScalarKind.Null => null,
        ScalarKind.Boolean => JsonValue.Create(scalar.Text is "true" or "True" or "TRUE"),
        ScalarKind.Integer when CoreSchema.TryInteger(scalar.Text, out Int128 value) && value >= long.MinValue && value <= ulong.MaxValue =>
            JsonValue.Create((decimal)value),
        ScalarKind.Integer or ScalarKind.Float =>
            double.TryParse(scalar.Text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && double.IsFinite(value)
                ? JsonValue.Create(value) : JsonValue.Create(scalar.Text),
        _ => JsonValue.Create(scalar.Text),
    };
}
