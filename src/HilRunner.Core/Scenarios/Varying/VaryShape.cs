using System.Globalization;
using HilRunner.Core.Documents;
using Combinations = System.Collections.Generic.IReadOnlyList<System.Collections.Generic.IReadOnlyList<HilRunner.Core.Scenarios.Varying.VariedValue>>;

namespace HilRunner.Core.Scenarios.Varying;

/// <summary>What <c>vary:</c> asks for.</summary>
/// <param name="Combinations">At most <see cref="VariationPlan.Most"/>.</param>
internal sealed record Vary(bool Sampled, Combinations Combinations);

/// <summary>A scenario's <c>vary:</c>.</summary>
internal static class VaryShape
{
    public static Shape<Vary> Shape { get; } = MapShape.Of<Vary>("Variations", "a map with grid or sample", keys =>
    {
        var grid = keys.Optional("grid", Grid(), "Every value with every other: a run for each.");
        var sample = keys.Optional("sample", Sample(), "Combinations drawn at random, each range covered evenly: a run for each.");
        keys.ExactlyOne(grid, sample);
        return (entries, _) => entries.Maybe(grid) is { } all ? new(false, all) : new(true, entries.Maybe(sample)!);
    });

    private static MapShape<Combinations> Grid() => MapShape.Of<Combinations>(null, "a map of what varies, such as {scale: 0.8 to 1.2 by 0.1}", keys =>
    {
        keys.Fewest = 1;
        var read = Parameters(keys, Values);
        return (entries, reading) =>
        {
            var axes = read(entries);
            Int128 count = axes.Aggregate((Int128)1, (product, axis) => product * axis.Value.Count);
            if (count <= VariationPlan.Most) { return VariationPlan.Grid(axes); }
            string product = string.Join(" × ", axes.Select(a => a.Value.Count.ToString(CultureInfo.InvariantCulture)));
            reading.Refuse(entries.Node, $"{product} = {count.ToString(CultureInfo.InvariantCulture)} combinations", $"at most {VariationPlan.Most}", "take fewer values, or draw some of them: sample: {count: 200, …}");
            return [];
        };
    });

    private static MapShape<Combinations> Sample() => MapShape.Of<Combinations>(null, "a map with count and what varies, such as {count: 40, scale: 0.8 to 1.2}", keys =>
    {
        var count = keys.Required("count", Shapes.Integer(1, VariationPlan.Most), "How many are drawn.");
        var seed = keys.Default("seed", Shapes.Unsigned, "1", "Which values are drawn; the run's own seed does not change them.");
        var read = Parameters(keys, parameter => new RangeShape(parameter, stepped: false));
        keys.Check((entries, reading) =>
        {
            if (entries.Node.Entries.All(e => e.Key.Text is "count" or "seed")) { reading.Refuse(entries.Node, "a sample of nothing", "ranges beside count, such as noise: 0 mg to 20 mg"); }
        });
        return (entries, _) => VariationPlan.Sample(read(entries), entries.Get(count), entries.Get(seed));
    });

    /// <summary>The keys of a play step that can be varied, as they stand there.</summary>
    /// <returns>What reads those that are given, in the order in which they act.</returns>
    private static Func<Entries, IReadOnlyList<(VariedParameter Parameter, T Value)>> Parameters<T>(MapKeys keys, Func<VariedParameter, Shape<T>> value)
    {
        var readers = new List<Func<Entries, IReadOnlyList<(VariedParameter, T)>>>();
        foreach (var group in VariedParameter.All.GroupBy(p => p.Key.Split('.')[0]))
        {
            if (group.First() is var alone && alone.Key == group.Key)
            {
                var key = keys.Optional(group.Key, value(alone), Doc(group.Key));
                readers.Add(entries => entries.TryGet(key, out T? read) ? [(alone, read)] : []);
                continue;
            }
            var inner = keys.Optional(group.Key, Group([.. group], value), Doc(group.Key));
            readers.Add(entries => entries.Maybe(inner) ?? []);
        }
        return entries => [.. readers.SelectMany(read => read(entries))];
    }

    private static MapShape<IReadOnlyList<(VariedParameter, T)>> Group<T>(IReadOnlyList<VariedParameter> group, Func<VariedParameter, Shape<T>> value) =>
        MapShape.Of<IReadOnlyList<(VariedParameter, T)>>(null, $"a map with {string.Join(", ", group.Select(Member))}", keys =>
        {
            keys.Fewest = 1;
            var all = group.Select(p => (Parameter: p, Key: keys.Optional(Member(p), value(p), $"{p.Title[..1].ToUpperInvariant()}{p.Title[1..]}."))).ToList();
            return (entries, _) => [.. all.Where(a => entries.Has(a.Key)).Select(a => (a.Parameter, entries.Get(a.Key)))];
        });

    private static EitherShape<IReadOnlyList<decimal>> Values(VariedParameter parameter)
    {
        var (min, max) = parameter.Range;
        Shape<decimal> one = parameter.Kind is { } kind
            ? new QuantityShape(kind, min, max).Select(v => VariationPlan.Rounded(v * parameter.UnitsPerBase))
            : Shapes.Number(double.Parse(min, CultureInfo.InvariantCulture), double.Parse(max, CultureInfo.InvariantCulture)).Select(v => VariationPlan.Rounded((decimal)v));
        var list = new ListShape<decimal>("a list of values", one, 1, VariationPlan.Most).Select((values, node, reading) =>
        {
            foreach (decimal twice in values.GroupBy(v => v).Where(g => g.Count() > 1).Select(g => g.Key))
            {
                reading.Refuse(node, $"{parameter.Write(twice)} twice", $"each value once, to {parameter.Write(VariedParameter.Finest)}");
            }
            return values;
        });
        var range = new RangeShape(parameter, stepped: true);
        return new($"{range.Form}, or a list of values", scalar: range.Select(RangeShape.Values), list: list);
    }

    private static string Member(VariedParameter parameter) => parameter.Key.Split('.')[1];

    private static string Doc(string key) => key switch
    {
        "rotate" => "About an axis, after the step's own rotations.",
        "scale" => "Factor on all channels, times the step's own.",
        "offset" => "Added to the step's own offsets.",
        "stretch" => "Factor on the time it takes, times the step's own, to the nearest thousandth.",
        _ => "Added to the step's own noise, as variances add up.",
    };
}
