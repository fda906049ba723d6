using System.Text.Json.Nodes;
using HilRunner.Core.Documents;
using HilRunner.Core.Numerics;

namespace HilRunner.Core.Recordings;

/// <summary>The whole side file: a map of single values, all optional.</summary>
internal static class SideShape
{
    private const int LongestText = 100_000;

    public static Shape<RecordingInfo> Shape { get; } = MapShape.Of<RecordingInfo>("Side file", "a side file", keys =>
    {
        var rate = keys.Optional("rate", Shapes.Rate, "The true sample rate.");
        var range = keys.Optional("range", new FullScaleShape(), "Full scale of the sensor.");
        var source = keys.Optional("source", Text("who or what was recorded", "courier 3"),
            "Who or what was recorded: trials of one source are not independent of each other.");
        var subject = keys.Optional("subject", Text("who or what was recorded", "courier 3"), "Another word for source.");
        var mounting = keys.Optional("mounting", Text("how the sensor was mounted", "inside the lid, x along the long side"),
            "Where and how the sensor was mounted.");
        var provenance = keys.Optional(
            "provenance", Text("where the recording comes from", "recorded on belt 2"), "Where the recording comes from.");
        var licence = keys.Optional("licence", Text("a licence", "MIT"), "Under which licence it may be used.");
        var invented = keys.Default("invented", Shapes.Flag, "false", "Made-up data: every report that shows it says so.");
        keys.AtMostOne(source, subject);
        return (entries, _) => new()
        {
            Rate = entries.MaybeValue(rate),
            RangeG = entries.MaybeValue(range),
            Source = entries.Maybe(source) ?? entries.Maybe(subject),
            Mounting = entries.Maybe(mounting),
            Provenance = entries.Maybe(provenance),
            Licence = entries.Maybe(licence),
            Invented = entries.Get(invented),
        };
    });

    private static TextShape Text(string form, string example) => new(form, [example], 1, LongestText);

    /// <summary>In g; by double, so that a range that was written reads back bit for bit.</summary>
    private sealed class FullScaleShape : Shape<double>
    {
        public override string Form => "a full scale such as 8 g, 2000 mg or 20 m/s2";

        public override JsonObject Schema(SchemaParts parts) =>
            new() { ["type"] = "string", ["pattern"] = "(g|mg|m/s2|m/s²)$",
                ["examples"] = new JsonArray("8 g", "2000 mg", "20 m/s2") };

        public override bool TryRead(Node node, Reading reading, out double value)
        {
            value = 0;
            if (node is not ScalarNode { Text: var text }) { return Refuse(node, reading, out value); }
            var (unit, divide) = text switch
            {
                _ when text.EndsWith("mg", StringComparison.Ordinal) => ("mg", 1000),
                _ when text.EndsWith("m/s2", StringComparison.Ordinal) => ("m/s2", Gravity.Standard),
                _ when text.EndsWith("m/s²", StringComparison.Ordinal) => ("m/s²", Gravity.Standard),
                _ when text.EndsWith('g') => ("g", 1.0),
                _ => ("", 1.0),
            };
            if (unit.Length == 0
                || !CsvText.TryNumber(text.AsSpan(0, text.Length - unit.Length), out double number) || number <= 0)
            {
                return Refuse(node, reading, out value);
            }
            value = number / divide;
            return true;
        }
    }
}
