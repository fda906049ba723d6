namespace HilRunner.Scoring.Sweeping;

/// <summary>
/// Finds the boundaries between classes along what is swept: the sequence of classes that explains all legs best, and in each leg the cuts
/// that fit it best (<see cref="LegCuts"/>). A class that flickers in near its boundary makes no boundary of its own.
/// </summary>
public static class SwitchFinder
{
    /// <summary>How many levels of every leg a further boundary must explain; under one, so that a class that only the last level shows is found.</summary>
    private const double LevelsPerBoundary = 0.9;

    /// <summary>Levels on either side that flicker is smoothed over.</summary>
    private static readonly int[] Smoothings = [0, 1, 2];

    /// <param name="levels">Of all loops at one value across.</param>
    /// <param name="step">From one level to the next.</param>
    public static IReadOnlyList<Switch> Find(IReadOnlyList<SettledClass> levels, double step, double confidence)
    {
        ArgumentNullException.ThrowIfNull(levels);
        var legs = levels.GroupBy(l => (l.Loop, l.Rising)).Select(g => new Leg(g.Key.Loop, g.Key.Rising, [.. g.OrderBy(l => l.Level)])).ToList();
        if (Sequence(legs) is not { Count: > 1 } sequence) { return []; }
        var cuts = legs.Select(leg => { LegCuts.Fit(leg.Classes, sequence, out int[] at); return at; }).ToList();
        return [.. Enumerable.Range(0, sequence.Count - 1).Select(j => Boundary(j, sequence, legs, cuts, step, confidence))];
    }

    /// <summary>Null: the device said nothing. Tried is what each leg shows, as it is and with its flicker smoothed away, and each class alone.</summary>
    private static IReadOnlyList<string>? Sequence(IReadOnlyList<Leg> legs) =>
        legs.SelectMany(leg => Smoothings.Select(reach => Runs(Smoothed(leg.Classes, reach))).Concat(leg.Classes.OfType<string>().Distinct().Select(c => new List<string> { c })))
            .Where(r => r.Count > 0).DistinctBy(r => string.Join('\n', r))
            .MinBy(sequence => (legs.Sum(leg => LegCuts.Fit(leg.Classes, sequence, out _)) + LevelsPerBoundary * (sequence.Count - 1) * legs.Count, sequence.Count));

    /// <summary>By the most frequent class among a level and so many on either side; of equals the level's own.</summary>
    private static IReadOnlyList<string?> Smoothed(IReadOnlyList<string?> classes, int reach) => reach == 0 ? classes :
        [.. classes.Select((own, i) => classes.Skip(Math.Max(0, i - reach)).Take(Math.Min(i, reach) + 1 + reach).OfType<string>().GroupBy(c => c).MaxBy(g => (g.Count(), g.Key == own ? 1 : 0))?.Key)];

    private static List<string> Runs(IReadOnlyList<string?> classes)
    {
        var runs = new List<string>();
        foreach (string name in classes.OfType<string>()) { if (runs.Count == 0 || runs[^1] != name) { runs.Add(name); } }
        return runs;
    }

    private static Switch Boundary(int j, IReadOnlyList<string> sequence, IReadOnlyList<Leg> legs, IReadOnlyList<int[]> cuts, double step, double confidence)
    {
        var found = new List<LegSwitch>();
        var trials = new List<(bool Rising, double Level, bool Switched)>();
        for (int i = 0; i < legs.Count; i++)
        {
            var leg = legs[i];
            int from = j == 0 ? 0 : cuts[i][j - 1], cut = cuts[i][j], to = j + 1 < cuts[i].Length ? cuts[i][j + 1] : leg.Levels.Count;
            if (cut > from && cut < to) { found.Add(new(leg.Loop, leg.Rising, (double)leg.Levels[cut - 1].Level, (double)leg.Levels[cut].Level)); }
            trials.AddRange(leg.Levels.Take(from..to).Where(l => l.Class == sequence[j] || l.Class == sequence[j + 1]).Select(l => (leg.Rising, (double)l.Level, l.Class == sequence[j + 1])));
        }
        return Switch.Of(sequence[j], sequence[j + 1], found, legs.Count, step, confidence) with { CurveUp = Curve(rising: true), CurveDown = Curve(rising: false) };

        ResponseCurve? Curve(bool rising) => ResponseCurve.Fit([.. trials.Where(t => t.Rising == rising).Select(t => (t.Level, t.Switched))], confidence);
    }

    private sealed record Leg(int Loop, bool Rising, IReadOnlyList<SettledClass> Levels)
    {
        public IReadOnlyList<string?> Classes { get; } = [.. Levels.Select(l => l.Class)];
    }
}
