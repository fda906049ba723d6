namespace HilRunner.Scoring.Comparing;

/// <summary>What became of a trial from the baseline to the candidate. Unsteady: on one of the two images its repeats disagree.</summary>
public enum TrialChange { Both, Lost, Gained, Neither, Unsteady }

/// <summary>What makes a trial the same one in two runs.</summary>
/// <param name="Motion">See <see cref="ComparedRun.Motion"/>.</param>
public readonly record struct TrialKey(string Scenario, string Motion, string Output, string Class, long StartNs);

/// <summary>One trial on both builds: all its repeats, since they are no independent evidence.</summary>
public sealed record TrialPair
{
    public required string Scenario { get; init; }
    public required string Output { get; init; }
    public required string Class { get; init; }
    public required long StartNs { get; init; }
    /// <summary>Counted plays, with the folder of each one's run.</summary>
    public required IReadOnlyList<(TrialScore Trial, ComparedRun Run)> Baseline { get; init; }
    public required IReadOnlyList<(TrialScore Trial, ComparedRun Run)> Candidate { get; init; }

    public TrialChange Change => (Recognised(Baseline), Recognised(Candidate)) switch
    {
        (null, _) or (_, null) => TrialChange.Unsteady,
        (true, true) => TrialChange.Both,
        (true, false) => TrialChange.Lost,
        (false, true) => TrialChange.Gained,
        _ => TrialChange.Neither,
    };

    /// <summary>Candidate less baseline, medians over the repeats; null where one of them has no such figure.</summary>
    public double? Shift(Func<TrialScore, ComparedRun, double?> figure) =>
        Median(Baseline, figure) is { } before && Median(Candidate, figure) is { } now ? now - before : null;

    /// <summary>Trials that both played, of runs of the same scenario and motion; counted plays only.</summary>
    public static IReadOnlyList<TrialPair> Of(IReadOnlyList<ComparedRun> baseline, IReadOnlyList<ComparedRun> candidate)
    {
        var before = Plays(baseline);
        var now = Plays(candidate);
        return
        [
            .. before.Where(b => now.ContainsKey(b.Key)).Select(b => new TrialPair
            {
                Scenario = b.Key.Scenario, Output = b.Key.Output, Class = b.Key.Class, StartNs = b.Key.StartNs,
                Baseline = b.Value, Candidate = now[b.Key],
            })
            .OrderBy(p => p.Scenario, StringComparer.Ordinal).ThenBy(p => p.Output, StringComparer.Ordinal).ThenBy(p => p.StartNs).ThenBy(p => p.Class, StringComparer.Ordinal),
        ];
    }

    private static Dictionary<TrialKey, List<(TrialScore, ComparedRun)>> Plays(IReadOnlyList<ComparedRun> runs) => runs
        .SelectMany(run => run.Outputs.SelectMany(o => o.Trials.Where(t => t.Counted).Select(t => (Key: new TrialKey(run.Scenario, run.Motion, o.Output, t.Class, t.StartNs), Play: (t, run)))))
        .GroupBy(p => p.Key).ToDictionary(g => g.Key, g => g.Select(p => p.Play).ToList());

    private static bool? Recognised(IReadOnlyList<(TrialScore Trial, ComparedRun Run)> plays)
    {
        int k = plays.Count(p => p.Trial.Recognised);
        return k == plays.Count ? true : k == 0 ? false : null;
    }

    private static double? Median(IReadOnlyList<(TrialScore Trial, ComparedRun Run)> plays, Func<TrialScore, ComparedRun, double?> figure)
    {
        double?[] all = [.. plays.Select(p => figure(p.Trial, p.Run))];
        if (all.Any(v => v is null)) { return null; }
        double[] sorted = [.. all.Select(v => v!.Value).Order()];
        return (sorted[(sorted.Length - 1) / 2] + sorted[sorted.Length / 2]) / 2;
    }
}
