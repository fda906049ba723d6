using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.Json.Serialization;

namespace HilRunner.Reporting;

/// <summary>case.json: the case without its curves, for programs and for going on with it.</summary>
public static class CaseJson
{
    private static readonly JsonSerializerOptions s_style = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.SnakeCaseLower, WriteIndented = true, NewLine = "\n", Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping, Converters = { new JsonStringEnumConverter(JsonNamingPolicy.SnakeCaseLower) },
    };

    public static string ToText(Case item)
    {
        ArgumentNullException.ThrowIfNull(item);
        var (low, high) = item.ShareInterval ?? (double.NaN, double.NaN);
        var json = new JsonObject
        {
            ["schema"] = Case.Schema,
            ["name"] = item.Name,
            ["key"] = item.Key,
            ["begun"] = JsonSerializer.SerializeToNode(item.Begun, s_style),
            ["ended"] = JsonSerializer.SerializeToNode(item.Ended, s_style),
            ["tool_version"] = item.ToolVersion,
            ["log"] = item.Log,
            ["log_sha256"] = item.LogSha256,
            ["when"] = item.When,
            ["complaint"] = item.Complaint,
            ["expected"] = item.Expected,
            ["reported"] = item.Reported,
            ["rig"] = item.Rig,
            ["build"] = item.Build,
            ["invented"] = item.Invented,
            ["notes"] = JsonSerializer.SerializeToNode(item.Notes, s_style),
            ["shown"] = item.Shown,
            ["played"] = item.Played,
            ["spoiled"] = item.Spoiled,
            ["share_95"] = item.ShareInterval is null ? null : new JsonArray(low, high),
            ["plays"] = JsonSerializer.SerializeToNode(item.Plays, s_style),
            ["culprit"] = item.Culprit is { } culprit ? CaseWords.Of(culprit) : null,
            ["evidence"] = JsonSerializer.SerializeToNode(item.Evidence, s_style),
            ["host"] = item.Host,
            ["excerpt"] = item.Excerpt is not { } e ? null : new JsonObject
            {
                ["seconds"] = e.Seconds,
                ["judged_s"] = new JsonArray((double)e.From.Seconds, (double)e.To.Seconds),
                ["device"] = JsonSerializer.SerializeToNode(e.Device, s_style),
                ["host"] = JsonSerializer.SerializeToNode(e.Host, s_style),
                ["logged"] = JsonSerializer.SerializeToNode(e.Logged, s_style),
            },
            ["shrink"] = JsonSerializer.SerializeToNode(item.Shrink, s_style),
            ["bisection"] = JsonSerializer.SerializeToNode(item.Bisection, s_style),
            ["kept"] = JsonSerializer.SerializeToNode(item.Kept, s_style),
        };
        return json.ToJsonString(s_style) + "\n";
    }
}
