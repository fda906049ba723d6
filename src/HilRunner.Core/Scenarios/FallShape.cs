using System.Text.Json.Nodes;
using HilRunner.Core.Documents;
using HilRunner.Core.Signals.Synthesis;

namespace HilRunner.Core.Scenarios;

/// <summary>A free fall by its height or by its time.</summary>
internal sealed class FallShape : Shape<TimeSpan>
{
    private static readonly Shape<TimeSpan> s_time = Shapes.Duration("0 s", "1 min", aboveMin: true);
    private static readonly Shape<TimeSpan> s_height = Shapes.Quantity(UnitKind.Length, "0 m", "1000 m", aboveMin: true).Select(FreeFall.TimeFor);

    private FallShape() { }

    public static FallShape Shape { get; } = new();
    public override string Form => "a height or a duration with its unit, such as 1 m or 450 ms";
    public override string Brief => "a height above 0 m, at most 1000 m, or a duration above 0 s, at most 1 min";

    public override JsonObject Schema(SchemaParts parts) => new()
    {
        ["type"] = "string",
        ["anyOf"] = new JsonArray(
            new JsonObject { ["pattern"] = Quantity.Pattern(UnitKind.Length) },
            new JsonObject { ["pattern"] = Quantity.Pattern(UnitKind.Duration) }),
    };

    public override bool TryRead(Node node, Reading reading, out TimeSpan value)
    {
        value = default;
        if (node is not ScalarNode { Kind: not ScalarKind.Null } scalar) { return Refuse(node, reading, out value); }
        if (Quantity.TryParse(scalar.Text, UnitKind.Length, out _) is null) { return s_height.TryRead(node, reading, out value); }
        return Quantity.TryParse(scalar.Text, UnitKind.Duration, out _) is null ? s_time.TryRead(node, reading, out value) : Refuse(node, reading, out value);
    }
}
