using System.Text.Json;

namespace HilRunner.Core.Files;

/// <summary>Reads the JSON records of stored runs. They are data: whatever is wrong in one is bad input.</summary>
public static class StoredJson
{
    /// <summary>In bytes: a hundred thousand runs in a record of their plan take less.</summary>
    private const long Longest = 16 << 20;

    /// <param name="style">
    /// As it was written. What is not nullable in the type may not be null in the file, nor may an element of a list.
    /// </param>
    /// <param name="expected">What the file should be, such as "batch.json as hil run wrote it".</param>
    /// <exception cref="BadInputException">It cannot be read or used.</exception>
    public static T Read<T>(string path, JsonSerializerOptions style, string expected) where T : class
    {
        ArgumentNullException.ThrowIfNull(style);
        // As bytes: text would be held several times over.
        var text = PlainFile.ReadBytes(path, Longest);
        if (text.Span.StartsWith("\uFEFF"u8)) { text = text[3..]; }
        try
        {
            JsonWords.RefuseLong(text.Span);
            using (var document = JsonDocument.Parse(text)) { RefuseStrange(document.RootElement, "$"); }
            return JsonSerializer.Deserialize<T>(text.Span, style) ?? throw new JsonException("nothing in it");
        }
        catch (JsonException damaged)
        {
            // The runtime's own words name types of the tool where a value is of another kind.
            string found = damaged.Path is { Length: > 1 } key
                && damaged.Message.Contains("could not be converted", StringComparison.Ordinal)
                ? $"{key} with another kind of value" : damaged.Message;
            throw Bad(path, (int)(damaged.LineNumber + 1 ?? 0), found, expected);
        }
        catch (Exception damaged)
            when (damaged is NotSupportedException or InvalidOperationException
                or FormatException or ArgumentException or OverflowException)
        {
            throw Bad(path, 0, damaged.Message, expected);
        }
    }

    private static BadInputException Bad(string path, int line, string found, string expected) =>
        new([new(path, line, 0, found.TrimEnd('.'), expected)]);

    /// <summary>
    /// Elements of lists that are null, and numbers that no number of ours can hold: read, these would be infinite.
    /// </summary>
    private static void RefuseStrange(JsonElement value, string where)
    {
        if (value.ValueKind == JsonValueKind.Number && !(value.TryGetDouble(out double number) && double.IsFinite(number)))
        {
            throw new JsonException($"{where} is too large a number");
        }
        if (value.ValueKind == JsonValueKind.Object)
        {
            foreach (var property in value.EnumerateObject()) { RefuseStrange(property.Value, $"{where}.{property.Name}"); }
        }
        else if (value.ValueKind == JsonValueKind.Array)
        {
            int i = 0;
            foreach (var element in value.EnumerateArray())
            {
                if (element.ValueKind == JsonValueKind.Null) { throw new JsonException($"{where}[{i}] is null"); }
                RefuseStrange(element, $"{where}[{i++}]");
            }
        }
    }
}
