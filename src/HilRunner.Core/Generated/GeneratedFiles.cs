using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;
using HilRunner.Core.Acceptance;
using HilRunner.Core.Documents;
using HilRunner.Core.Models;
using HilRunner.Core.Recordings;
using HilRunner.Core.Recordings.Import;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Sweeps;

namespace HilRunner.Core.Generated;

/// <summary>What the repository keeps that follows from the descriptions: JSON Schemas, and the tables in the README files.</summary>
internal static class GeneratedFiles
{
    private const string CrcStart = "<!-- generated: check sums -->";
    private const string Start = "<!-- generated: keys of ", Close = " -->", End = "<!-- end of generated -->";

    private static readonly JsonSerializerOptions Style = new() { WriteIndented = true, NewLine = "\n", Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    private static readonly Dictionary<string, (string Title, IShape Shape)> Documents = new()
    {
        ["rig"] = ("Rig file", RigShape.Shape),
        ["scenario"] = ("Scenario file", ScenarioShape.Shape),
        ["suite"] = ("Suite file", SuiteShape.Shape),
        ["import"] = ("Import map", ImportMapShape.Shape),
        ["acceptance"] = ("Acceptance plan", AcceptanceShape.Shape),
        ["sweep"] = ("Sweep plan", SweepShape.Shape),
        ["model"] = ("Model file", ModelShape.Shape),
        ["recording"] = ("Side file of a recording", SideShape.Shape),
    };

    /// <summary>Path from the top of the checkout → what makes the file's text from its present one ("" when it is absent).</summary>
    public static IReadOnlyDictionary<string, Func<string, string>> All { get; } = new Dictionary<string, Func<string, string>>
    {
        ["rigs/rig.schema.json"] = _ => Schema("rig"),
        ["scenarios/scenario.schema.json"] = _ => Schema("scenario"),
        ["scenarios/suite.schema.json"] = _ => Schema("suite"),
        ["scenarios/import.schema.json"] = _ => Schema("import"),
        ["scenarios/acceptance.schema.json"] = _ => Schema("acceptance"),
        ["scenarios/sweep.schema.json"] = _ => Schema("sweep"),
        ["scenarios/model.schema.json"] = _ => Schema("model"),
        ["scenarios/recording.schema.json"] = _ => Schema("recording"),
        ["src/HilRunner.Core/Models/README.md"] = Tables,
        ["src/HilRunner.Core/Recordings/README.md"] = Tables,
        ["src/HilRunner.Core/Recordings/Import/README.md"] = Tables,
        ["rigs/README.md"] = Tables,
        ["scenarios/README.md"] = Tables,
    };

    /// <param name="document">rig, scenario, suite, import, acceptance, sweep, model or recording.</param>
    public static string Schema(string document)
    {
        var (title, shape) = Documents[document];
        var schema = new JsonObject
        {
            ["$schema"] = "https://json-schema.org/draft/2020-12/schema",
            ["title"] = title,
            ["description"] = "Generated from the reader: it refuses all that this schema refuses, and checks more.",
        };
        var parts = new SchemaParts();
        foreach (var (key, value) in shape.Schema(parts).ToList()) { schema[key] = value?.DeepClone(); }
        schema["$defs"] = parts.Definitions;
        return schema.ToJsonString(Style) + "\n";
    }

    /// <summary>Puts the tables between their markers.</summary>
    private static string Tables(string text)
    {
        for (int at = text.IndexOf(Start, StringComparison.Ordinal); at >= 0; at = text.IndexOf(Start, at + 1, StringComparison.Ordinal))
        {
            int close = text.IndexOf(Close, at, StringComparison.Ordinal), end = text.IndexOf(End, at, StringComparison.Ordinal);
            string document = text[(at + Start.Length)..close];
            text = text[..(close + Close.Length)] + "\n" + KeyTables.Of(Documents[document].Shape) + "\n" + text[end..];
        }
        int crcs = text.IndexOf(CrcStart, StringComparison.Ordinal);
        if (crcs < 0) { return text; }
        string names = string.Join(" · ", KnownCrcs.Names.Select(n => $"`{n}`"));
        return text[..crcs] + CrcStart + "\n" + names + "\n" + text[text.IndexOf(End, crcs, StringComparison.Ordinal)..];
    }
}
