using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core.Recordings.Import;

namespace HilRunner.Cli.Importing;

/// <summary>What an import understood, for programs: one object, or a list for several logs.</summary>
internal static class ImportJson
{
    private static readonly JsonSerializerOptions s_style =
        new(JsonSerializerDefaults.Web) { PropertyNamingPolicy = JsonNamingPolicy.SnakeCaseLower, WriteIndented = true, Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    public static void Print(IReadOnlyList<ImportSurvey> surveys)
    {
        JsonNode[] all = [.. surveys.Select(Of)];
        Terminal.Documents.WriteLine((all.Length == 1 ? all[0] : new JsonArray(all)).ToJsonString(s_style));
    }

    private static JsonObject Of(ImportSurvey survey) => new()
    {
        ["log"] = survey.Path,
        ["columns"] = JsonSerializer.SerializeToNode(survey.Columns, s_style),
        ["rows"] = JsonSerializer.SerializeToNode(survey.Rows, s_style),
        ["recordings"] = new JsonArray([.. survey.Recordings.Select(r => (JsonNode)new JsonObject
        {
            ["name"] = r.Name,
            ["first_line"] = r.FirstLine,
            ["last_line"] = r.LastLine,
            ["key"] = JsonSerializer.SerializeToNode(r.Key, s_style),
            ["because"] = r.Because,
            ["rows"] = r.Rows,
            ["samples"] = r.Samples,
            ["rate_hz"] = r.Rate.Hertz,
            ["duration_s"] = r.Duration.Seconds,
            ["origin_s"] = r.Origin.Seconds,
            ["placing"] = JsonNamingPolicy.SnakeCaseLower.ConvertName(r.Placing.ToString()),
            ["mean_magnitude_g"] = r.MeanMagnitudeG,
            ["labels"] = new JsonArray([.. r.Labels.Select(l => (JsonNode)new JsonObject { ["start_s"] = l.Start.Seconds, ["end_s"] = l.End.Seconds, ["class"] = l.Class })]),
        })]),
        ["bad_rows"] = new JsonArray([.. survey.BadRows.Select(f => (JsonNode)f.ToString())]),
        ["doubts"] = new JsonArray([.. survey.Doubts.Select(d => (JsonNode)d)]),
        ["files"] = new JsonArray([.. survey.Files.Select(f => (JsonNode)f)]),
    };
}
