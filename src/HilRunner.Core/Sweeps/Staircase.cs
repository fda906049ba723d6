using System.Globalization;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using HilRunner.Core.Numerics;

namespace HilRunner.Core.Sweeps;

/// <summary>One way along the range.</summary>
/// <param name="Levels">As played, in the base unit: rising or falling by the range's step.</param>
public sealed record SweepLeg(bool Rising, IReadOnlyList<decimal> Levels);

/// <summary>Once up and once down, at one value across: one run.</summary>
/// <param name="Number">From 1, in the order in which the loops are played.</param>
/// <param name="Across">In the base unit; null: nothing has several values.</param>
/// <param name="Legs">The first is rising or falling, by the seed.</param>
public sealed record SweepLoop(int Number, decimal? Across, IReadOnlyList<SweepLeg> Legs)
{
    public IEnumerable<(bool Rising, decimal Level)> Levels => Legs.SelectMany(leg => leg.Levels.Select(level => (leg.Rising, level)));
}

/// <summary>
/// The loops of a plan. Every leg begins at another place within its first step; over the repeats these places are spread evenly (one
/// in each of as many equal parts, as in a Latin hypercube), up and down apart, so that several coarse staircases tell more than one.
/// </summary>
public static class Staircase
{
    /// <summary>Digits of a place within a step.</summary>
    private const int Digits = 9;

    public static IReadOnlyList<SweepLoop> Of(SweepPlan plan)
    {
        ArgumentNullException.ThrowIfNull(plan);
        var range = plan.Motion.Range;
        var loops = new List<(decimal? Across, SweepLeg[] Legs)>();
        decimal?[] across = plan.Motion.Across is null ? [null] : [.. plan.Motion.AcrossValues.Select(v => (decimal?)v)];
        for (int a = 0; a < across.Length; a++)
        {
            var seed = new SeedTree(plan.Seed).Branch((ulong)a);
            decimal[] up = Places(plan.Repeats, seed.Branch(0)), down = Places(plan.Repeats, seed.Branch(1));
            bool[] fallingFirst = [.. Enumerable.Range(0, plan.Repeats).Select(i => i % 2 == 1)];
            SeededShuffle.Shuffle(fallingFirst.AsSpan(), seed.Branch(2).Value);
            for (int i = 0; i < plan.Repeats; i++)
            {
                SweepLeg rising = new(true, Levels(range, up[i])), falling = new(false, [.. Levels(range, down[i]).Reverse()]);
                loops.Add((across[a], fallingFirst[i] ? [falling, rising] : [rising, falling]));
            }
        }
        var order = loops.ToArray();
        SeededShuffle.Shuffle(order.AsSpan(), new SeedTree(plan.Seed).Branch(ulong.MaxValue).Value);
        return [.. order.Select((l, i) => new SweepLoop(i + 1, l.Across, l.Legs))];
    }

    /// <summary>A scenario of one level after the other, and what precedes the first so that nothing is left in the device's windows.</summary>
    /// <param name="levels">In the base unit of what is swept.</param>
    public static string Scenario(SweepPlan plan, string name, decimal? across, IEnumerable<decimal> levels, TimeSpan dwell)
    {
        ArgumentNullException.ThrowIfNull(plan);
        var all = levels.ToList();
        var text = new StringBuilder($"scenario: {JsonSerializer.Serialize(name, s_plain)}\nstimulus:\n");
        // The first level twice: once as the run-in.
        foreach (decimal level in all.Prepend(all[0])) { text.Append(CultureInfo.InvariantCulture, $"  - synth: {{{Motion(plan.Motion, across, level)}, for: {Seconds(dwell)}, class: swept}}\n"); }
        text.Append("unscored: [swept]\n");
        return text.ToString();
    }

    private static readonly JsonSerializerOptions s_plain = new() { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    private static string Seconds(TimeSpan span) => $"{(span.Ticks / 1e7m).ToString("0.#######", CultureInfo.InvariantCulture)} s";

    private static string Motion(SweptMotion motion, decimal? across, decimal level)
    {
        var written = motion.Parameters.ToDictionary(p => p.Parameter, p => p.Parameter.Write(p.Value switch { StillValue still => still.Value, SweptRange => level, _ => across!.Value }));
        string parameters = motion.IsRandom
            ? $"random: {{from: {written[SweptParameter.Lower]}, to: {written[SweptParameter.Upper]}, rms: {written[SweptParameter.Rms]}}}"
            : $"tone: {written[SweptParameter.Tone]}, peak: {written[SweptParameter.Peak]}";
        return $"{parameters}, axis: {motion.Axis}, up: {motion.Up}";
    }

    /// <summary>Where within a step each repeat begins, 0 to 1.</summary>
    private static decimal[] Places(int repeats, SeedTree seed)
    {
        int[] parts = [.. Enumerable.Range(0, repeats)];
        SeededShuffle.Shuffle(parts.AsSpan(), seed.Branch(0).Value);
        var random = new Xoshiro256(seed.Branch(1).Value);
        var places = new decimal[repeats];
        for (int i = 0; i < repeats; i++) { places[i] = decimal.Round((parts[i] + (decimal)random.NextShare()) / repeats, Digits, MidpointRounding.ToZero); }
        return places;
    }

    private static decimal[] Levels(SweptRange range, decimal place) => [.. Enumerable.Range(0, range.Levels).Select(k => range.From + (k + place) * range.By)];
}
