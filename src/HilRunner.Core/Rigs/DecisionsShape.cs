using HilRunner.Core.Documents;

namespace HilRunner.Core.Rigs;

/// <summary>The outputs of a device: one bare pattern, or a map of named outputs.</summary>
internal static class DecisionsShape
{
    private static readonly string[][] Needs = [["class"]];
    private const string Form = "a pattern that names class, or a map of outputs";

    private static Shape<DecisionFormat> Bare => MessageShapes.Pattern(false, Needs)
        .Select(pattern => new DecisionFormat("", new(pattern, null), null, null));

    private static Shape<DecisionFormat> Output { get; } = new EitherShape<DecisionFormat>(
        "a pattern that names class, {pattern: …, classes: …} or a binary frame", scalar: Bare, map: Detailed());

    public static Shape<IReadOnlyList<DecisionFormat>> Shape { get; } = new EitherShape<IReadOnlyList<DecisionFormat>>(Form,
        scalar: Bare.Select(d => (IReadOnlyList<DecisionFormat>)[d]),
        map: new NamedShape<DecisionFormat>(Form, "OUTPUT", "^[A-Za-z_][A-Za-z0-9_-]{0,39}$", Output, 1, 64).Select((named, node, reading) =>
        {
            foreach (var (key, _) in named.Own.Where(o => o.Key.Text is "pattern" or "fields"))
            {
                reading.Faults.Add(key, $"an output called {key.Text}", "the name of an output first, such as {activity: {pattern: …}}");
            }
            return (IReadOnlyList<DecisionFormat>)[.. named.Own.Select(o => o.Value with { Output = o.Key.Text })];
        }));

    private static MapShape<DecisionFormat> Detailed() => MapShape.Of<DecisionFormat>("Decisions of one output", "a map with pattern or fields", keys =>
    {
        var pattern = keys.Optional("pattern", MessageShapes.Pattern(false, Needs), "Regular expression with the group class; also used: n, t_us or t_ms or ticks, score.");
        var type = LayoutShapes.TypeKey(keys);
        var fields = keys.Optional("fields", LayoutShapes.Fields, "Binary frame: its fields in order.");
        var repeat = keys.Default("repeat", LayoutShapes.Fields, "[]", "Binary frame: fields that are repeated once a decision, after fields.");
        var classes = keys.Optional("classes", ClassShapes.Map, "This output's own classes. Absent: the device's.");
        var field = keys.Optional("field", ClassShapes.Field, "The class is a bit field of the value: (value >> shift) & mask.");
        keys.ExactlyOne(pattern, fields);
        keys.AtMostOne(pattern, type);
        keys.Check((entries, reading) =>
        {
            if (!entries.TryGet(fields, out var list) || !entries.TryGet(repeat, out var repeated)) { return; }
            MessageShapes.CheckFields(new(null, list) { Repeat = repeated }, false, Needs, entries.NodeOf(fields), reading);
        });
        return (entries, reading) =>
        {
            var map = entries.Maybe(classes);
            var own = entries.Maybe(field);
            if (map?.Field is not null && own is not null) { reading.Faults.Add(entries.NodeOf(field), $"a bit field in both field and classes of {entries.Node.Path}", "one of them"); }
            var message = entries.Maybe(pattern) is { } text ? new IncomingMessage(text, null)
                : new IncomingMessage(null, new(entries.MaybeValue(type), entries.Get(fields)) { Repeat = entries.Get(repeat) });
            return new DecisionFormat("", message, own ?? map?.Field, map?.Names);
        };
    });
}
