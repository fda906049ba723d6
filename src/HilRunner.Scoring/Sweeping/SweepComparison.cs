using HilRunner.Core.Sweeps;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Sweeping;

/// <summary>One figure of one boundary, before and now.</summary>
/// <param name="Across">Null: nothing has several values.</param>
/// <param name="Change">None: nothing of that figure before; and likewise now.</param>
/// <param name="Shifted">The family's tests, adjusted by Holm, tell the two apart; or the boundary came or went.</param>
/// <param name="Why">Why nothing can be said.</param>
public sealed record SwitchShift(decimal? Across, string Below, string Above, SweepMeasure Measure, MeanInterval? Before, MeanInterval? Now, Welch? Change, bool Shifted, string Why);

/// <summary>Two sweeps of the same plan: which switching points moved. That a point moved is no judgement whether it is for the worse: limits say that.</summary>
public static class SweepComparison
{
    /// <param name="confidence">One less it is the risk that any shift is seen where there is none.</param>
    public static IReadOnlyList<SwitchShift> Compare(IReadOnlyList<SweepPoint> before, IReadOnlyList<SweepPoint> now, double confidence)
    {
        ArgumentNullException.ThrowIfNull(before);
        ArgumentNullException.ThrowIfNull(now);
        List<SwitchShift> all = [.. Keys(before).Union(Keys(now)).OrderBy(k => k.Across).SelectMany(key => Of(key, before, now, confidence))];
        List<int> tested = [.. Enumerable.Range(0, all.Count).Where(i => all[i].Change is not null)];
        var adjusted = Holm.Adjust([.. tested.Select(i => all[i].Change!.Value.P)]);
        for (int k = 0; k < tested.Count; k++) { all[tested[k]] = all[tested[k]] with { Shifted = adjusted[k] < 1 - confidence }; }
        return all;
    }

    private static IEnumerable<(decimal? Across, string Below, string Above)> Keys(IReadOnlyList<SweepPoint> points) => points.SelectMany(p => p.Switches.Select(s => (p.Across, s.Below, s.Above)));

    private static IEnumerable<SwitchShift> Of((decimal? Across, string Below, string Above) key, IReadOnlyList<SweepPoint> before, IReadOnlyList<SweepPoint> now, double confidence)
    {
        Switch? Find(IReadOnlyList<SweepPoint> points) => points.Where(p => p.Across == key.Across).SelectMany(p => p.Switches).FirstOrDefault(s => s.Below == key.Below && s.Above == key.Above);
        Switch? then = Find(before), since = Find(now);
        return Enum.GetValues<SweepMeasure>().Select(measure =>
        {
            MeanInterval? a = Figure(then, measure), b = Figure(since, measure);
            if (then is null || since is null) { return new SwitchShift(key.Across, key.Below, key.Above, measure, a, b, null, Shifted: true, then is null ? "it did not switch so before" : "it does not switch so now"); }
            var change = Welch.Test(Values(then, measure), Values(since, measure), confidence);
            return new SwitchShift(key.Across, key.Below, key.Above, measure, a, b, change, Shifted: false, change is null ? "fewer than two loops that reached it" : "");
        });
    }

    private static MeanInterval? Figure(Switch? found, SweepMeasure measure) => measure switch { SweepMeasure.SwitchUp => found?.Up, SweepMeasure.SwitchDown => found?.Down, _ => found?.Width };

    private static double[] Values(Switch found, SweepMeasure measure) => measure switch
    {
        SweepMeasure.SwitchUp => [.. found.Legs.Where(l => l.Rising).Select(l => l.Middle)],
        SweepMeasure.SwitchDown => [.. found.Legs.Where(l => !l.Rising).Select(l => l.Middle)],
        _ => found.Widths,
    };
}
