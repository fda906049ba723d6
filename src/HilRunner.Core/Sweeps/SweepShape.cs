using System.Diagnostics.CodeAnalysis;
using System.Text.Json.Nodes;
using HilRunner.Core.Documents;

namespace HilRunner.Core.Sweeps;

/// <summary>The whole sweep plan.</summary>
internal static class SweepShape
{
    public static Shape<SweepPlan> Shape { get; } = MapShape.Of<SweepPlan>("Sweep plan", "a sweep plan", keys =>
    {
        var name = keys.Required("sweep", Shapes.Text("the sweep's name", "level of a vibration"), "Name of the sweep.");
        var motion = keys.Required("motion", Motion(), "A steady motion. One value of it is a range, which is swept up and down; one other may be a list: a sweep at each, for a map.");
        var dwell = keys.Required("dwell", new DwellShape(), "How long each level lasts: longer than the device needs to make up its mind. Or found: measured first, by steps from end to end.");
        var repeats = keys.Default("repeats", Shapes.Integer(1, 1_000), "5", "Loops up and down, each at other levels within a step. With one there is no interval but the step.");
        var seed = keys.Default("seed", Shapes.Unsigned, "1", "Seed of the order, of where in its first step each leg begins, and of all noise.");
        var events = keys.Default("events", new ListShape<string>("a list of momentary classes", ClassNames.Name, 0, 1_000),
            "[]", "Momentary classes: they are no states, so that nothing switches to them.");
        var confidence = keys.Default("confidence", Shapes.Quantity(UnitKind.Share, "0.5", "0.999999", aboveMin: true), "0.95", "Confidence of the intervals, and of what limits are held against.");
        var limits = keys.Default("limits", new ListShape<LimitDraft>("a list of limits", Limit(), 0, 1_000), "[]", "What the device must keep to. A limit is held where the whole interval is within it, broken where it is wholly outside, and open between.");
        return (entries, reading) =>
        {
            var moved = entries.Get(motion);
            return new SweepPlan
            {
                Name = entries.Get(name),
                Motion = moved,
                Dwell = entries.Get(dwell).Length,
                Repeats = entries.Get(repeats),
                Seed = entries.Get(seed),
                Events = entries.Get(events),
                Confidence = entries.Get(confidence),
                Limits = [.. entries.Get(limits).Select(l => l.In(moved.Along, reading)).OfType<SweepLimit>()],
            };
        };
    });

    private sealed record DwellTime(TimeSpan? Length);

    private sealed class DwellShape : Shape<DwellTime>
    {
        private readonly Shape<TimeSpan> _length = Shapes.Duration("100 ms", "1 h");

        public override string Form => "a duration, such as 6 s, or found";

        public override JsonObject Schema(SchemaParts parts) => new() { ["anyOf"] = new JsonArray(new JsonObject { ["const"] = "found" }, parts.Of(_length)) };

        public override bool TryRead(Node node, Reading reading, [MaybeNullWhen(false)] out DwellTime value)
        {
            value = null;
            if (node is ScalarNode { Text: "found" }) { value = new(null); }
            else if (node is not ScalarNode scalar || Quantity.TryParse(scalar.Text, UnitKind.Duration, out _) is not null) { return Refuse(node, reading, out value); }
            else if (_length.TryRead(node, reading, out var given)) { value = new(given); }
            return value is not null;
        }
    }

    private static MapShape<SweptMotion> Motion() => MapShape.Of<SweptMotion>("Motion that is swept", "a map such as {tone: 16 Hz, peak: 20 mg to 200 mg by 10 mg, axis: z}", keys =>
    {
        var tone = keys.Optional("tone", Value(SweptParameter.Tone), "Frequency of a sine.");
        var peak = keys.Optional("peak", Value(SweptParameter.Peak), "tone: amplitude, zero to peak.");
        var rms = keys.Optional("rms", Value(SweptParameter.Rms), "Gaussian random vibration of a flat band: root mean square of all of it.");
        var from = keys.Optional("from", Value(SweptParameter.Lower), "rms: lower edge of the band.");
        var to = keys.Optional("to", Value(SweptParameter.Upper), "rms: upper edge of the band.");
        var axis = keys.Required("axis", Shapes.Direction, "The direction that it moves along.");
        var up = keys.Default("up", Shapes.Direction, "z", "The direction that points upwards, where rest reads +1 g.");
        keys.ExactlyOne(tone, rms);
        (SweptParameter Parameter, Key<SweptValue> Key)[] all = [(SweptParameter.Tone, tone), (SweptParameter.Peak, peak), (SweptParameter.Rms, rms), (SweptParameter.Lower, from), (SweptParameter.Upper, to)];
        keys.Check((entries, reading) =>
        {
            foreach (var (kind, beside, other) in new (IKey, IKey[], IKey[])[] { (tone, [peak], [from, to]), (rms, [from, to], [peak]) })
            {
                if (!entries.Has(kind)) { continue; }
                foreach (IKey key in beside.Where(k => !entries.Has(k))) { reading.Faults.Add(entries.Node, $"no {key.Name} in {entries.Node.Path}", $"{key.Name}: {key.Shape.Form}"); }
                foreach (IKey key in other.Where(entries.Has)) { reading.Faults.Add(entries.NodeOf(key), $"{key.Name} beside {kind.Name} in {entries.Node.Path}", $"beside {kind.Name}: {string.Join(", ", beside.Select(b => b.Name))}", "remove it"); }
            }
            List<SweptValue> values = [.. all.Where(p => entries.Has(p.Key)).Select(p => entries.TryGet(p.Key, out var v) ? v : null).OfType<SweptValue>()];
            if (values.Count != all.Count(p => entries.Has(p.Key))) { return; }
            if (values.Count(v => v is SweptRange) is var ranges and not 1) { reading.Refuse(entries.Node, ranges == 0 ? "without a range" : $"with {ranges} ranges", "exactly one value that is a range, such as peak: 20 mg to 200 mg by 10 mg", ranges == 0 ? "" : "write the other as a list: a sweep at each value"); }
            if (values.Count(v => v is EachValue) > 1) { reading.Refuse(entries.Node, "with several lists", "at most one value that is a list"); }
            if (entries.TryGet(from, out var low) && entries.TryGet(to, out var high) && Greatest(low) >= Least(high)) { reading.Refuse(entries.NodeOf(to), entries.NodeOf(to).Shown, "frequencies above all of from"); }
        });
        return (entries, _) => new([.. all.Where(p => entries.Has(p.Key)).Select(p => (p.Parameter, entries.Get(p.Key)))], entries.Get(axis), entries.Get(up));
    });

    private static SweptValueShape Value(SweptParameter parameter) => new(parameter);

    private static decimal Least(SweptValue value) => value switch { StillValue still => still.Value, SweptRange range => range.From, _ => ((EachValue)value).Values[0] };

    private static decimal Greatest(SweptValue value) => value switch { StillValue still => still.Value, SweptRange range => range.To, _ => ((EachValue)value).Values[^1] };

    /// <summary>A limit before it is known what is swept, and so in which unit it is.</summary>
    private sealed record LimitDraft(SweepMeasure Measure, string? Class, ScalarNode? AtLeast, ScalarNode? AtMost)
    {
        public SweepLimit? In(SweptParameter along, Reading reading)
        {
            long before = reading.Faults.Count;
            var limit = new SweepLimit(Measure, Class, Bound(AtLeast, along, reading), Bound(AtMost, along, reading));
            return reading.Faults.Count == before ? limit : null;
        }

        private static decimal? Bound(ScalarNode? node, SweptParameter along, Reading reading)
        {
            if (node is null) { return null; }
            if (Quantity.TryParse(node.Text, along.Kind, out decimal value) is not { } fault) { return value; }
            reading.Refuse(node, fault, $"{along.Kind.Expected}: it is the {along.Title} that is swept");
            return null;
        }
    }

    private static MapShape<LimitDraft> Limit() => MapShape.Of<LimitDraft>("Limits of a sweep", "a limit, such as {measure: switch_up, class: conveyed, at_most: 60 mg}", keys =>
    {
        var measure = keys.Required("measure", new WordShape<SweepMeasure>(("switch_up", SweepMeasure.SwitchUp), ("switch_down", SweepMeasure.SwitchDown), ("hysteresis_width", SweepMeasure.HysteresisWidth)),
            "switch_up: where the class is entered on the way up; switch_down: where it is left on the way down; hysteresis_width: the former less the latter.");
        var name = keys.Optional("class", ClassNames.Name, "The class that is entered on the way up. Absent: every switch.");
        var atLeast = keys.Optional("at_least", new BoundShape(), "Lower bound, in a unit of what is swept.");
        var atMost = keys.Optional("at_most", new BoundShape(), "Upper bound, likewise.");
        keys.Check((entries, reading) =>
        {
            if (!entries.Has(atLeast) && !entries.Has(atMost)) { reading.Faults.Add(entries.Node, $"no bound in {entries.Node.Path}", "at_least, at_most, or both"); }
        });
        return (entries, _) => new(entries.Get(measure), entries.Maybe(name), entries.Maybe(atLeast), entries.Maybe(atMost));
    });

    private sealed class BoundShape : Shape<ScalarNode>
    {
        public override string Form => "a bound with its unit, such as 60 mg or 8 Hz";

        public override JsonObject Schema(SchemaParts parts) => new()
        {
            ["type"] = "string",
            ["anyOf"] = new JsonArray(new JsonObject { ["pattern"] = Quantity.Pattern(UnitKind.Acceleration) }, new JsonObject { ["pattern"] = Quantity.Pattern(UnitKind.Frequency) }),
        };

        public override bool TryRead(Node node, Reading reading, [MaybeNullWhen(false)] out ScalarNode value)
        {
            value = node as ScalarNode;
            return value is { Kind: not ScalarKind.Null } || Refuse(node, reading, out value);
        }
    }
}
