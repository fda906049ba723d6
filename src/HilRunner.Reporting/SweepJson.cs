using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;
using HilRunner.Core;
using HilRunner.Core.Files;

namespace HilRunner.Reporting;

/// <summary>sweep.json: all of a sweep but the plan's own text; it reads back whole.</summary>
public static class SweepJson
{
    public const string File = "sweep.json";

    private static readonly JsonSerializerOptions s_style = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.SnakeCaseLower, DictionaryKeyPolicy = null, WriteIndented = true, NewLine = "\n", IgnoreReadOnlyProperties = true, Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.SnakeCaseLower) },
    };

    public static string ToText(Sweep sweep) => JsonSerializer.Serialize(sweep, s_style) + "\n";

    /// <exception cref="BadInputException">No sweep, or of a later kind.</exception>
    public static Sweep Read(string path)
    {
        try
        {
            var sweep = JsonSerializer.Deserialize<Sweep>(PlainFile.ReadText(path, PlainFile.LargestRecord), s_style);
            return sweep is { Schema: Sweep.CurrentSchema } ? sweep : throw Bad(path, $"schema {sweep?.Schema}", $"schema {Sweep.CurrentSchema}");
        }
        catch (JsonException fault) { throw Bad(path, fault.Message, "a sweep as hil sweep writes it"); }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException) { throw Bad(path, fault.Message, "a readable sweep.json"); }
    }

    private static BadInputException Bad(string path, string found, string expected) => new([new(path, 0, 0, found, expected)]);
}
