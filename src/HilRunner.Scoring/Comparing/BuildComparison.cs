using HilRunner.Core.Scenarios;

namespace HilRunner.Scoring.Comparing;

/// <summary>
/// Two builds, trial by trial. Pure. Each measure is tested two-sided at <see cref="Level"/>, over its classes together (Holm 1979); repeats of a trial are one pair, and a trial whose
/// repeats disagree on one image is left out of the tests: it cannot make a build worse.
/// </summary>
public sealed record BuildComparison
{
    public const double Level = 0.05;

    public required Change Overall { get; init; }
    /// <summary>Recognised by class first, then latencies, chatter, false alarms, the device.</summary>
    public required IReadOnlyList<Difference> Differences { get; init; }
    public required IReadOnlyList<TrialPair> Pairs { get; init; }
    /// <summary>False: the two did not play the same, so that shares and latencies are compared without pairs.</summary>
    public required bool Paired { get; init; }
    /// <summary>Scenarios of only one of the two, or with another motion or text under the same name.</summary>
    public required IReadOnlyList<string> NotPaired { get; init; }

    /// <param name="unsteady">Trials that came out both ways in other runs of the two images; null: nothing is known of others.</param>
    public static BuildComparison Of(
        IReadOnlyList<ComparedRun> baseline, IReadOnlyList<ComparedRun> candidate, CompareTolerances tolerances, IReadOnlySet<TrialKey>? unsteady = null)
    {
        var pairs = TrialPair.Of(baseline, candidate, unsteady ?? new HashSet<TrialKey>());
        bool paired = pairs.Count > 0;
        List<Difference> differences =
        [
            .. paired ? ShareDifferences.Of(pairs) : UnpairedDifferences.Shares(baseline, candidate),
            .. paired ? ShiftDifferences.Latencies(pairs, tolerances) : UnpairedDifferences.Reactions(baseline, candidate, tolerances),
            .. paired ? ShiftDifferences.Chatter(pairs) : [],
            .. paired ? ShiftDifferences.FalseAlarms(baseline, candidate) : [],
            .. DeviceDifferences.Of(baseline, candidate),
        ];
        var before = baseline.Select(r => (r.Scenario, r.Motion)).ToHashSet();
        var now = candidate.Select(r => (r.Scenario, r.Motion)).ToHashSet();
        return new()
        {
            Overall = All(differences),
            Differences = differences,
            Pairs = pairs,
            Paired = paired,
            NotPaired = [.. before.Except(now).Concat(now.Except(before)).Select(k => k.Scenario).Distinct().Order(StringComparer.Ordinal)],
        };
    }

    private static Change All(List<Difference> differences)
    {
        if (differences.Any(d => d.Change == Change.Worse)) { return Change.Worse; }
        var shares = differences.Where(d => d.Measure == Measure.Recognised).ToList();
        if (differences.Any(d => d.Change == Change.Better)) { return Change.Better; }
        return shares.All(d => d.Change == Change.TooFew) ? Change.TooFew : Change.NoneShown;
    }
}
