using HilRunner.Core.Scenarios;

namespace HilRunner.Scoring.Comparing;

/// <summary>
/// Two builds, trial by trial. Pure. Each measure is asked two questions, two-sided at <see cref="Level"/> over its classes
/// together (Holm 1979): did it change on these recordings, and would it be otherwise on motion like this (see <see
/// cref="Basis"/>)?
/// </summary>
public sealed record BuildComparison
{
    public const double Level = 0.05;

    /// <summary>Of intervals beside the tests.</summary>
    internal const double Confidence = 1 - Level;

    public required Change Overall { get; init; }
    /// <summary>Recognised by class first, then latencies, chatter, false alarms, the device.</summary>
    public required IReadOnlyList<Difference> Differences { get; init; }
    public required IReadOnlyList<TrialPair> Pairs { get; init; }
    /// <summary>False: the two did not play the same, so that shares and latencies are compared without pairs.</summary>
    public required bool Paired { get; init; }
    /// <summary>Scenarios of only one of the two, or with another motion or text under the same name.</summary>
    public required IReadOnlyList<string> NotPaired { get; init; }
    /// <summary>Scenarios that the two builds played on other rigs: what changed may be the rig.</summary>
    public IReadOnlyList<string> OnOtherRigs { get; init; } = [];

    public static BuildComparison Of(
        IReadOnlyList<ComparedRun> baseline, IReadOnlyList<ComparedRun> candidate, CompareTolerances tolerances)
    {
        int seed = SharedScenario.Seed([.. baseline, .. candidate]);
        var scenarios = SharedScenario.Of(baseline, candidate, seed);
        var pairs = TrialPair.Of(baseline, candidate);
        bool paired = pairs.Count > 0;
        var hang = new Lazy<bool>(() => SharedScenario.HangTogether(scenarios, seed));
        List<Difference> differences =
        [
            .. paired ? TrialMeasure.Recognised.Of(scenarios, hang, seed) : UnpairedDifferences.Shares(baseline, candidate),
            .. paired ? Reactions(scenarios, tolerances, hang, seed) : UnpairedDifferences.Reactions(baseline, candidate,
                tolerances),
            .. paired ? TrialMeasure.ReportLatency(tolerances.ReportLatencyS).Of(scenarios, hang, seed) : [],
            .. paired ? TrialMeasure.Chatter.Of(scenarios, hang, seed) : [],
            .. paired ? RunMeasure.FalseAlarms(scenarios, seed) : [],
            .. DeviceDifferences.Of(baseline, candidate, scenarios, seed),
        ];
        var before = baseline.Select(r => (r.Scenario, r.Motion)).ToHashSet();
        var now = candidate.Select(r => (r.Scenario, r.Motion)).ToHashSet();
        return new()
        {
            Overall = All(differences),
            Differences = differences,
            Pairs = pairs,
            Paired = paired,
            OnOtherRigs = [.. scenarios.Where(s => s.OnOtherRigs).Select(s => s.Runs[0].Scenario).Distinct()],
            NotPaired = [.. before.Except(now).Concat(now.Except(before)).Select(k => k.Scenario).Distinct().Order(StringComparer.Ordinal)],
        };
    }

    private static IEnumerable<Difference> Reactions(IReadOnlyList<SharedScenario> scenarios, CompareTolerances tolerances,
        Lazy<bool> hang, int seed)
    {
        var reactions = TrialMeasure.Reaction(tolerances.ReactionS).Of(scenarios, hang, seed);
        return !tolerances.EarlierIsWorse ? reactions
            : reactions.Select(d => d.Change == Change.Better ? d with { Change = Change.Worse, Why = "earlier than before" }
                : d);
    }

    private static Change All(List<Difference> differences)
    {
        if (differences.Any(d => d.Change == Change.Worse)) { return Change.Worse; }
        var shares = differences.Where(d => d.Measure == Measure.Recognised).ToList();
        if (differences.Any(d => d.Change == Change.Better)) { return Change.Better; }
        return shares.All(d => d.Change == Change.TooFew) ? Change.TooFew : Change.NoneShown;
    }
}
