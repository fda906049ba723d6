using System.Diagnostics.CodeAnalysis;
using System.Globalization;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using HilRunner.Core.Documents;

namespace HilRunner.Core.Scenarios.Varying;

/// <summary>A range of one parameter.</summary>
/// <param name="By">From one value to the next; 0 where the range is drawn from.</param>
internal readonly record struct VariedRange(decimal From, decimal To, decimal By);

/// <summary>A range in one line: <c>0 deg to 30 deg by 7.5 deg</c>; where values are drawn from it, without the step.</summary>
internal sealed partial class RangeShape(VariedParameter parameter, bool stepped) : Shape<VariedRange>
{
    private const string FactorForm = @"[-+]?([0-9]{1,9}(\.[0-9]{0,9})?|\.[0-9]{1,9})";

    public override string Form => $"a range such as {Example}";
    private string Example => parameter.Unit.Length == 0 ? $"0.9 to 1.1{(stepped ? " by 0.1" : "")}"
        : $"0 {parameter.Unit} to 30 {parameter.Unit}{(stepped ? $" by 7.5 {parameter.Unit}" : "")}";

    public override JsonObject Schema(SchemaParts parts)
    {
        string value = parameter.Kind is { } kind ? Quantity.Pattern(kind)[1..^1] : FactorForm;
        return new() { ["type"] = "string", ["pattern"] = $"^{value} to {value}{(stepped ? $" by {value}" : "")}$", ["examples"] = new JsonArray(Example) };
    }

    public override bool TryRead(Node node, Reading reading, [MaybeNullWhen(false)] out VariedRange value)
    {
        value = default;
        if (node is not ScalarNode scalar) { return Refuse(node, reading, out value); }
        Match match = Words().Match(scalar.Text);
        if (!match.Success || match.Groups["by"].Success != stepped) { return Refuse(node, reading, out value); }
        var read = new decimal[3];
        string[] names = stepped ? ["from", "to", "by"] : ["from", "to"];
        for (int i = 0; i < names.Length; i++)
        {
            if (Fault(match.Groups[names[i]].Value, isStep: i == 2, out read[i]) is { } fault) { return Refuse(node, reading, out value, $"{node.Shown}, with {fault}"); }
        }
        value = new(read[0], read[1], read[2]);
        return IsUsable(value, node, reading);
    }

    /// <summary>Every value of a stepped range.</summary>
    public static IReadOnlyList<decimal> Values(VariedRange range) =>
        [.. Enumerable.Range(0, (int)((range.To - range.From) / range.By) + 1).Select(i => range.From + i * range.By)];

    /// <summary>Null when the text is a value of the parameter; else what is wrong with it.</summary>
    private string? Fault(string text, bool isStep, out decimal value)
    {
        var (min, max) = parameter.Range;
        decimal low, high;
        if (parameter.Kind is { } kind)
        {
            if (Quantity.TryParse(text, kind, out value) is { } fault) { return fault; }
            (low, high) = (Quantity.Parse(min, kind), Quantity.Parse(max, kind));
        }
        else
        {
            if (!FactorPattern().IsMatch(text)) { value = 0; return $"\"{text}\""; }
            value = decimal.Parse(text, NumberStyles.Float, CultureInfo.InvariantCulture);
            (low, high) = (decimal.Parse(min, CultureInfo.InvariantCulture), decimal.Parse(max, CultureInfo.InvariantCulture));
        }
        // A step is a difference: it may be smaller than any value.
        if (value > high || (!isStep && value < low)) { return $"\"{text}\", which is not from {min} to {max}"; }
        value = VariationPlan.Rounded(value * parameter.UnitsPerBase);
        return null;
    }

    private bool IsUsable(VariedRange range, Node node, Reading reading)
    {
        long before = reading.Faults.Count;
        string smallest = parameter.Write(VariedParameter.Finest);
        if (range.To <= range.From) { reading.Refuse(node, node.Shown, "the lower value first"); }
        else if (!stepped) { return true; }
        else if (range.By <= 0) { reading.Refuse(node, node.Shown, $"a step of at least {smallest}"); }
        else if ((range.To - range.From) % range.By != 0)
        {
            decimal last = range.From + decimal.Truncate((range.To - range.From) / range.By) * range.By;
            reading.Refuse(node, $"{node.Shown}, whose steps end at {parameter.Write(last)}", "a whole number of steps", $"end at {parameter.Write(last)} or {parameter.Write(last + range.By)}");
        }
        else if ((range.To - range.From) / range.By >= VariationPlan.Most)
        {
            string count = ((range.To - range.From) / range.By + 1).ToString("0", CultureInfo.InvariantCulture);
            reading.Refuse(node, $"{node.Shown}: {count} values", $"at most {VariationPlan.Most}", "take wider steps");
        }
        return reading.Faults.Count == before;
    }

    [GeneratedRegex(@"^(?<from>\S.*?) to (?<to>\S.*?)( by (?<by>\S.*))?\z", RegexOptions.CultureInvariant)]
    private static partial Regex Words();

    [GeneratedRegex($@"^{FactorForm}\z", RegexOptions.CultureInvariant)]
    private static partial Regex FactorPattern();
}
