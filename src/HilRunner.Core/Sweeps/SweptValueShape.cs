using System.Diagnostics.CodeAnalysis;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using HilRunner.Core.Documents;

namespace HilRunner.Core.Sweeps;

/// <summary>One value, <c>20 mg</c>; a range to be swept, <c>20 mg to 200 mg by 10 mg</c>; or a list of values with a sweep at each.</summary>
internal sealed partial class SweptValueShape(SweptParameter parameter) : Shape<SweptValue>
{
    private const int MostLevels = 1_000, MostValues = 100;

    private string Example => parameter.Kind == UnitKind.Frequency ? "5 Hz to 20 Hz by 0.5 Hz" : "20 mg to 200 mg by 10 mg";
    private QuantityShape One => new(parameter.Kind, parameter.Min, parameter.Max, parameter.Kind == UnitKind.Frequency ? 1 : 0);

    public override string Form => $"{parameter.Kind.Name} with its unit; a range that is swept, such as {Example}; or a list of values with a sweep at each";

    public override JsonObject Schema(SchemaParts parts)
    {
        string value = Quantity.Pattern(parameter.Kind)[1..^1];
        return new()
        {
            ["anyOf"] = new JsonArray(
                new JsonObject { ["type"] = "string", ["pattern"] = $"^{value}( to {value} by {value})?$", ["examples"] = new JsonArray(Example) },
                new JsonObject { ["type"] = "array", ["items"] = new JsonObject { ["type"] = "string", ["pattern"] = $"^{value}$" }, ["minItems"] = 2, ["maxItems"] = MostValues }),
        };
    }

    public override bool TryRead(Node node, Reading reading, [MaybeNullWhen(false)] out SweptValue value)
    {
        value = null;
        if (node is ListNode list) { return TryReadEach(list, reading, out value); }
        if (node is not ScalarNode scalar) { return Refuse(node, reading, out value); }
        Match match = Words().Match(scalar.Text);
        if (!match.Success)
        {
            if (!One.TryRead(node, reading, out decimal still)) { return false; }
            value = new StillValue(still);
            return true;
        }
        var read = new decimal[3];
        string[] names = ["from", "to", "by"];
        for (int i = 0; i < names.Length; i++)
        {
            string text = match.Groups[names[i]].Value;
            if (Quantity.TryParse(text, parameter.Kind, out read[i]) is { } fault) { return Refuse(node, reading, out value, $"{node.Shown}, with {fault}"); }
            if (read[i] > Quantity.Parse(parameter.Max, parameter.Kind) || (i < 2 && read[i] < Quantity.Parse(parameter.Min, parameter.Kind)))
            {
                return Refuse(node, reading, out value, $"{node.Shown}, with {text}, which is not from {parameter.Min} to {parameter.Max}");
            }
        }
        var range = new SweptRange(read[0], read[1], read[2]);
        string? wrong = Wrong(range);
        if (wrong is not null)
        {
            reading.Refuse(node, node.Shown, wrong);
            return false;
        }
        value = range;
        return true;
    }

    private static string? Wrong(SweptRange range)
    {
        if (range.To <= range.From) { return "the lower value first: a sweep goes up and down anyway"; }
        if (range.By <= 0) { return "a step above 0"; }
        if ((range.To - range.From) % range.By != 0) { return "a whole number of steps"; }
        return range.Levels is < 2 or > MostLevels ? $"2 to {MostLevels} steps; this has {range.Levels}" : null;
    }

    private bool TryReadEach(ListNode list, Reading reading, [MaybeNullWhen(false)] out SweptValue value)
    {
        value = null;
        if (!new ListShape<decimal>("a list of values", One, 2, MostValues).TryRead(list, reading, out var values)) { return false; }
        if (values.Zip(values.Skip(1)).Any(p => p.Second <= p.First))
        {
            reading.Refuse(list, list.Shown, "rising values, each once");
            return false;
        }
        value = new EachValue(values);
        return true;
    }

    [GeneratedRegex(@"^(?<from>\S.*?) to (?<to>\S.*?) by (?<by>\S.*)\z", RegexOptions.CultureInvariant)]
    private static partial Regex Words();
}
