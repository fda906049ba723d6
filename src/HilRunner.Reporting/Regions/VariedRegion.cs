using HilRunner.Core.Scenarios.Varying;

namespace HilRunner.Reporting.Regions;

/// <summary>One parameter, everything else pooled.</summary>
/// <param name="Points">By rising value, one for each bin.</param>
public sealed record RegionLine(VariedParameter Parameter, IReadOnlyList<RegionBin> Bins, IReadOnlyList<RegionPoint> Points)
{
    /// <summary>Up to which value enough is recognised, in words.</summary>
    public string Edge => EdgeWords.Of(Bins, Points, p => p.Holds, "recognised", p => (p.Recognised, p.Counted));

    /// <summary>Up to which value every run passes, in words.</summary>
    public string PassEdge => EdgeWords.Of(Bins, Points, p => p.AllPassed, "every run passes", p => (p.Passed, p.Usable));
}

/// <summary>Two parameters against each other.</summary>
/// <param name="Points">[row][column]; null: no run was played there.</param>
public sealed record RegionMap(IReadOnlyList<RegionBin> Rows, IReadOnlyList<RegionBin> Columns, IReadOnlyList<IReadOnlyList<RegionPoint?>> Points)
{
    /// <summary>Along the columns of one row, in words.</summary>
    public string Edge(int row)
    {
        var played = Enumerable.Range(0, Columns.Count).Where(c => Points[row][c] is not null).ToList();
        return EdgeWords.Of([.. played.Select(c => Columns[c])], [.. played.Select(c => Points[row][c]!)], p => p.Holds, "recognised", p => (p.Recognised, p.Counted));
    }
}

/// <summary>
/// Over which values one output of the device still recognises a scenario. The runs of a region play the same recordings: its trials are
/// not independent, so that its shares describe these recordings and carry no confidence.
/// </summary>
public sealed record VariedRegion
{
    /// <summary>Most intervals into which drawn values are gathered.</summary>
    private const int MostBins = 8;

    public required string Scenario { get; init; }
    public required string Output { get; init; }
    public required bool Sampled { get; init; }
    /// <summary>Those that count.</summary>
    public required int Runs { get; init; }
    /// <summary>Combinations of values among them.</summary>
    public required int Combinations { get; init; }
    /// <summary>What enough is, in words.</summary>
    public required string Needs { get; init; }
    /// <summary>Parameters with one value only.</summary>
    public required IReadOnlyList<VariedValue> Fixed { get; init; }
    /// <summary>One for each parameter that varies; for the first where none does.</summary>
    public required IReadOnlyList<RegionLine> Lines { get; init; }
    /// <summary>Where exactly two parameters vary.</summary>
    public RegionMap? Map { get; init; }
    /// <summary>All runs together.</summary>
    public required RegionPoint All { get; init; }

    /// <summary>One for each varied scenario and output, in the order in which they were played.</summary>
    public static IReadOnlyList<VariedRegion> Of(IReadOnlyList<SuiteRun> runs)
    {
        ArgumentNullException.ThrowIfNull(runs);
        return
        [
            .. runs.Where(r => r.Variation is not null).GroupBy(r => (r.Variation!.Of, r.VariedFrom))
                .SelectMany(scenario => Outputs(scenario).Select(output => Of([.. scenario], output))),
        ];
    }

    private static IReadOnlyList<string> Outputs(IEnumerable<SuiteRun> runs)
    {
        string[] outputs = [.. runs.SelectMany(r => r.Trials).Select(t => t.Output).Distinct()];
        return outputs.Length == 0 ? [""] : outputs;
    }

    private static VariedRegion Of(IReadOnlyList<SuiteRun> runs, string output)
    {
        Variation first = runs[0].Variation!;
        var parameters = first.Values.Select(v => v.Parameter).ToList();
        var values = parameters.ToDictionary(p => p, p => runs.Select(r => Value(r, p)).Distinct().Order().ToList());
        var varied = parameters.Where(p => values[p].Count > 1).ToList();
        if (varied.Count == 0) { varied = [parameters[0]]; }
        var bins = varied.ToDictionary(p => p, p => first.Sampled ? Gathered(p, values[p], varied.Count) : [.. values[p].Select(v => new RegionBin(p, v, v))]);
        var counted = runs.Where(r => !r.PlayedAgain).ToList();
        return new()
        {
            Scenario = first.Of,
            Output = output,
            Sampled = first.Sampled,
            Runs = counted.Count,
            Combinations = counted.Select(r => string.Join(' ', r.Variation!.Values)).Distinct().Count(),
            Needs = NeedsOf(runs[0], output),
            Fixed = [.. first.Values.Where(v => !varied.Contains(v.Parameter))],
            Lines = [.. varied.Select(p => Line(p, bins[p], runs, output))],
            Map = varied.Count == 2 ? MapOf(bins[varied[0]], bins[varied[1]], runs, output) : null,
            All = RegionPoint.Of(runs, output),
        };
    }

    private static RegionLine Line(VariedParameter parameter, IReadOnlyList<RegionBin> bins, IReadOnlyList<SuiteRun> runs, string output)
    {
        var byBin = runs.ToLookup(r => Place(bins, Value(r, parameter)));
        return new(parameter, bins, [.. bins.Select((_, i) => RegionPoint.Of([.. byBin[i]], output))]);
    }

    /// <summary>The parameter with fewer values across, so that the map stays narrow.</summary>
    private static RegionMap MapOf(IReadOnlyList<RegionBin> one, IReadOnlyList<RegionBin> other, IReadOnlyList<SuiteRun> runs, string output)
    {
        var (rows, columns) = one.Count >= other.Count ? (one, other) : (other, one);
        var cells = runs.ToLookup(r => (Place(rows, Value(r, rows[0].Parameter)), Place(columns, Value(r, columns[0].Parameter))));
        return new(rows, columns, [.. rows.Select((_, r) => (IReadOnlyList<RegionPoint?>)[.. columns.Select((_, c) => cells.Contains((r, c)) ? RegionPoint.Of([.. cells[(r, c)]], output) : null)])]);
    }

    /// <summary>Equal parts of the range that was drawn, so few that each holds several values.</summary>
    private static IReadOnlyList<RegionBin> Gathered(VariedParameter parameter, List<decimal> sorted, int dimensions)
    {
        int count = Math.Clamp((int)(dimensions == 2 ? Math.Sqrt(sorted.Count / 4.0) : sorted.Count / 5.0), 1, MostBins);
        decimal from = sorted[0], width = (sorted[^1] - from) / count;
        decimal Bound(int i) => i == count ? sorted[^1] : decimal.Round(from + i * width, 3);
        return [.. Enumerable.Range(0, count).Select(i => new RegionBin(parameter, Bound(i), Bound(i + 1)))];
    }

    /// <summary>The last bin that begins at or below the value.</summary>
    private static int Place(IReadOnlyList<RegionBin> bins, decimal value)
    {
        int place = 0;
        for (int i = 1; i < bins.Count && bins[i].From <= value; i++) { place = i; }
        return place;
    }

    private static decimal Value(SuiteRun run, VariedParameter parameter) => run.Variation!.Values.Single(v => v.Parameter == parameter).Value;

    private static string NeedsOf(SuiteRun run, string output)
    {
        var limits = run.RecognisedLimits.Where(l => l.Output is null || l.Output == output).ToList();
        if (limits.Count == 0) { return "every trial that counts"; }
        return string.Join(" and ", limits.Select(l => $"{(l.AtLeast is null ? "at most" : "at least")} {Figure.Share(l.AtLeast ?? l.AtMost)} of {(l.Class is { } name ? $"the trials of {name}" : "the trials")}")) + ", as the scenario asks";
    }
}
