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

    private static readonly JsonSerializerOptions s_strict =
        new(s_style) { RespectNullableAnnotations = true, RespectRequiredConstructorParameters = true };

    /// <summary>In any unit of a level: what is beyond cannot be counted in steps.</summary>
    private const decimal MostLevel = 1e12m, LeastStep = 1e-12m;

    public static string ToText(Sweep sweep) => JsonSerializer.Serialize(sweep, s_style) + "\n";

    /// <exception cref="BadInputException">No sweep, or of a later kind.</exception>
    public static Sweep Read(string path)
    {
        var sweep = StoredJson.Read<Sweep>(path, s_strict, "a sweep as hil sweep writes it");
        if (sweep.Schema != Sweep.CurrentSchema) { throw Bad(path, $"schema {sweep.Schema}", $"schema {Sweep.CurrentSchema}"); }
        var along = sweep.Along;
        if (along.By < LeastStep || sweep.Points.SelectMany(p => p.Levels).Select(l => l.Level).Concat([along.From, along.To])
            .Any(l => Math.Abs(l) > MostLevel))
        {
            throw Bad(path, "a level or a step that no motion has", FormattableString.Invariant($"levels up to {MostLevel}"));
        }
        return along.By > 0 && along.To > along.From ? sweep
            : throw Bad(
                path, FormattableString.Invariant($"levels from {along.From} to {along.To} by {along.By}"), "levels that rise");
    }

    private static BadInputException Bad(string path, string found, string expected) => new([new(path, 0, 0, found, expected)]);
}
