using System.Diagnostics.CodeAnalysis;
using System.Globalization;
using System.Text.Json.Nodes;

namespace HilRunner.Core.Documents;

/// <summary>Any text; numbers and true or false count as the text they are written in.</summary>
internal sealed class TextShape(string form, string[] examples, int shortest = 1, int longest = 65_536) : Shape<string>
{
    public override string Form => form;

    public override JsonObject Schema(SchemaParts parts)
    {
        var schema = new JsonObject { ["type"] = new JsonArray("string", "number", "boolean"), ["minLength"] = shortest, ["maxLength"] = longest };
        if (examples.Length > 0) { schema["examples"] = new JsonArray([.. examples.Select(e => (JsonNode)e)]); }
        return schema;
    }

    public override bool TryRead(Node node, Reading reading, [MaybeNullWhen(false)] out string value)
    {
        if (node is not ScalarNode scalar || scalar.Kind == ScalarKind.Null) { return Refuse(node, reading, out value); }
        value = scalar.Text;
        return (value.Length >= shortest && value.Length <= longest) || Refuse(node, reading, out value, $"{value.Length} characters long");
    }
}

/// <summary>One of a few words, each standing for a value.</summary>
internal sealed class WordShape<T>(params (string Word, T Value)[] words) : Shape<T>
{
    /// <summary>For the docs, where the list of words stands elsewhere.</summary>
    public string? Called { get; init; }
    public override string Form => words.Length == 1 ? words[0].Word : "one of " + string.Join(", ", words.Select(w => Printable(w.Word)));
    public override string Brief => Called ?? Form;

    public override JsonObject Schema(SchemaParts parts) => new() { ["enum"] = new JsonArray([.. words.Select(w => JsonOf(w.Word))]) };

    public override bool TryRead(Node node, Reading reading, [MaybeNullWhen(false)] out T value)
    {
        if (node is ScalarNode scalar)
        {
            foreach (var (word, meaning) in words)
            {
                if (word == scalar.Text && (scalar.Plain || CoreSchema.KindOf(word) == ScalarKind.Text))
                {
                    value = meaning;
                    return true;
                }
            }
            string? near = scalar.Kind == ScalarKind.Text ? EditDistance.Nearest(scalar.Text, words.Select(w => w.Word)) : null;
            return Refuse(node, reading, out value, remedy: near is null ? "" : $"did you mean {near}?");
        }
        return Refuse(node, reading, out value);
    }

    private static string Printable(string word) =>
        word.Any(char.IsControl) ? '"' + word.Replace("\r", "\\r", StringComparison.Ordinal).Replace("\n", "\\n", StringComparison.Ordinal) + '"' : word;

    private static JsonNode JsonOf(string word) => CoreSchema.KindOf(word) switch
    {
        ScalarKind.Text => word,
        _ => JsonNode.Parse(word)!,
    };
}

internal sealed class BooleanShape : Shape<bool>
{
    public override string Form => "true or false";
    public override JsonObject Schema(SchemaParts parts) => new() { ["type"] = "boolean" };

    public override bool TryRead(Node node, Reading reading, out bool value)
    {
        if (node is not ScalarNode { Kind: ScalarKind.Boolean } scalar) { return Refuse(node, reading, out value); }
        value = scalar.Text is "true" or "True" or "TRUE";
        return true;
    }
}

/// <summary>A whole number within [min, max]; decimal, 0x hexadecimal or 0o octal.</summary>
internal sealed class IntegerShape(Int128 min, Int128 max) : Shape<Int128>
{
    public override string Form => max >= long.MaxValue ? min == 0 ? "a whole number, 0 or more" : "a whole number" : $"a whole number from {Text(min)} to {Text(max)}";

    public override JsonObject Schema(SchemaParts parts) => new()
    {
        ["type"] = "integer",
        ["minimum"] = (decimal)min,
        ["maximum"] = (decimal)max,
    };

    public override bool TryRead(Node node, Reading reading, out Int128 value)
    {
        value = 0;
        return node is ScalarNode { Kind: ScalarKind.Integer } scalar && CoreSchema.TryInteger(scalar.Text, out value) && value >= min && value <= max
            || Refuse(node, reading, out value);
    }

    private static string Text(Int128 value) => value.ToString(CultureInfo.InvariantCulture);
}

/// <summary>A finite number without unit within [min, max].</summary>
internal sealed class NumberShape(double min, double max) : Shape<double>
{
    public override string Form => max >= 1e9 ? "a number" : FormattableString.Invariant($"a number from {min} to {max}");

    public override JsonObject Schema(SchemaParts parts) => new() { ["type"] = "number", ["minimum"] = min, ["maximum"] = max };

    public override bool TryRead(Node node, Reading reading, out double value)
    {
        value = 0;
        return node is ScalarNode { Kind: ScalarKind.Integer or ScalarKind.Float } scalar
            && double.TryParse(scalar.Text, NumberStyles.Float, CultureInfo.InvariantCulture, out value) && value >= min && value <= max
            || Refuse(node, reading, out value);
    }
}

/// <summary>A number with a unit, in base units of its kind, within [min, max] (both written as in a file).</summary>
/// <param name="step">The value is a whole multiple of this many base units; 0: any value.</param>
internal sealed class QuantityShape(UnitKind kind, string min, string max, decimal step = 0, bool aboveMin = false) : Shape<decimal>
{
    private readonly decimal _min = Quantity.Parse(min, kind);
    private readonly decimal _max = Quantity.Parse(max, kind);

    public override string Form => kind.Expected;
    public override string Brief => RangeForm;

    private string RangeForm => aboveMin ? $"{kind.Name} above {min}, at most {max}" : $"{kind.Name} from {min} to {max}";

    public override JsonObject Schema(SchemaParts parts)
    {
        var schema = new JsonObject
        {
            ["type"] = kind == UnitKind.Share ? new JsonArray("number", "string") : "string",
            ["pattern"] = Quantity.Pattern(kind),
            ["examples"] = new JsonArray([.. kind.Examples.Select(e => kind == UnitKind.Share && CoreSchema.KindOf(e) == ScalarKind.Float
                ? JsonNode.Parse(e)! : (JsonNode)e)]),
        };
        if (kind == UnitKind.Share)
        {
            schema[aboveMin ? "exclusiveMinimum" : "minimum"] = _min;
            schema["maximum"] = _max;
        }
        return schema;
    }

    public override bool TryRead(Node node, Reading reading, out decimal value)
    {
        value = 0;
        if (node is not ScalarNode scalar || scalar.Kind == ScalarKind.Null) { return Refuse(node, reading, out value); }
        string? fault = Quantity.TryParse(scalar.Text, kind, out value);
        if (fault is not null) { return Refuse(node, reading, out value, fault); }
        if (value < _min || value > _max || (aboveMin && value == _min))
        {
            reading.Refuse(node, node.Shown, RangeForm);
            return false;
        }
        if (step != 0 && value % step != 0)
        {
            reading.Refuse(node, node.Shown, $"{kind.Name} in whole {StepName()}");
            return false;
        }
        return true;
    }

    private string StepName() => (kind == UnitKind.Frequency, step) switch
    {
        (true, _) => "millihertz",
        (_, 100) => "multiples of 100 ns",
        _ => "nanoseconds",
    };
}
