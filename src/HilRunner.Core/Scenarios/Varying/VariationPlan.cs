using HilRunner.Core.Numerics;

namespace HilRunner.Core.Scenarios.Varying;

/// <summary>The combinations of values that a scenario asks for.</summary>
internal static class VariationPlan
{
    /// <summary>Most combinations of one scenario. A thousand runs of a minute are most of a day.</summary>
    public const int Most = 1_000;

    /// <summary>Every value with every other; the last parameter changes fastest.</summary>
    public static IReadOnlyList<IReadOnlyList<VariedValue>> Grid(IReadOnlyList<(VariedParameter Parameter, IReadOnlyList<decimal> Values)> axes)
    {
        IReadOnlyList<IReadOnlyList<VariedValue>> all = [[]];
        foreach (var (parameter, values) in axes) { all = [.. all.SelectMany(before => values.Select(v => (IReadOnlyList<VariedValue>)[.. before, new(parameter, v)]))]; }
        return all;
    }

    /// <summary>
    /// A Latin hypercube (McKay, Beckman and Conover, Technometrics 21(2), 1979): each range is cut into as many equal parts as there are
    /// samples, each part holds one, and the parts are paired at random. So every parameter is covered evenly, however many there are.
    /// </summary>
    public static IReadOnlyList<IReadOnlyList<VariedValue>> Sample(IReadOnlyList<(VariedParameter Parameter, VariedRange Range)> ranges, int count, ulong seed)
    {
        var columns = ranges.Select(varied =>
        {
            var (parameter, range) = varied;
            // What one parameter draws does not depend on the others, so that adding one leaves the rest as they were.
            ulong place = (ulong)Places[parameter.Key];
            int[] parts = [.. Enumerable.Range(0, count)];
            SeededShuffle.Shuffle(parts.AsSpan(), new SeedTree(seed).Branch(place).Branch(0).Value);
            var random = new Xoshiro256(new SeedTree(seed).Branch(place).Branch(1).Value);
            var values = new VariedValue[count];
            for (int i = 0; i < count; i++)
            {
                decimal share = (parts[i] + (decimal)random.NextShare()) / count;
                values[i] = new(parameter, Rounded(range.From + (range.To - range.From) * share));
            }
            return values;
        }).ToList();
        return [.. Enumerable.Range(0, count).Select(i => (IReadOnlyList<VariedValue>)[.. columns.Select(c => c[i])])];
    }

    public static decimal Rounded(decimal value) => decimal.Round(value / VariedParameter.Finest) * VariedParameter.Finest;

    private static Dictionary<string, int> Places { get; } = VariedParameter.All.Select((p, i) => (p.Key, i)).ToDictionary(p => p.Key, p => p.i);
}
