using HilRunner.Core.Scenarios;
using HilRunner.Reporting;
using HilRunner.Scoring;
using HilRunner.Scoring.Pooling;

namespace HilRunner.Application.Batches;

/// <summary>The limits of a suite, judged over the trials of all its runs.</summary>
internal sealed record SuiteLimits(string Suite, IReadOnlyList<Limit> Limits)
{
    /// <summary>Shifts of latency that are nobody's business.</summary>
    public CompareTolerances Tolerances { get; init; } = new();

    /// <summary>Of a plan whose claims are tested trial by trial: how each of <see cref="Limits"/> is, in their order. Empty: judged once, at the end.</summary>
    public IReadOnlyList<SequentialPlan> Sequential { get; init; } = [];

    /// <summary>What cannot be judged of it, as it came out of a file; null: nothing.</summary>
    public string? Fault
    {
        get
        {
            var strange = Limits.FirstOrDefault(l => l.AtMost is null == l.AtLeast is null
                || l.Confidence is not (> 0 and < 1) || !PooledJudge.Takes(l));
            if (strange is not null) { return $"a limit on {strange.Measure} that is not judged over all trials"; }
            bool tested = Sequential.Count == 0 || (Sequential.Count == Limits.Count && Limits.Zip(Sequential).All(l =>
                l.First is { Measure: Measure.Recognised, AtLeast: > 0 and { } share } && share < l.Second.Good
                && l.Second is { Good: <= 1, Risk: > 0 and < 1, MostTrials: > 0 and <= MostTrials }));
            return tested ? null : "a sequential plan that does not go with its limits";
        }
    }

    private const int MostTrials = 1_000_000;
}

/// <summary>A run as far as limits over all runs need it.</summary>
/// <param name="Limits">Of its scenario.</param>
/// <param name="Heard">What was played, with the false alarms in it.</param>
/// <param name="Counts">Its trials say something of the device.</param>
internal sealed record PooledRun(string? Suite, IReadOnlyList<Limit> Limits, IReadOnlyList<PlayedTrial> Played,
    IReadOnlyList<HeardStretch> Heard, bool Counts = true)
{
    public static PooledRun Of((StoredRun Stored, SuiteRun Shown) run) =>
        new(run.Stored.Manifest.Suite, run.Stored.Rules.Limits, run.Shown.Played, run.Shown.Heard, run.Shown.Counts);
}

/// <summary>Judges the limits with a confidence: a suite's over its runs, a scenario's over the runs of all scenarios that state the same one.</summary>
internal static class PooledLimits
{
    /// <param name="runs">All of the batch.</param>
    public static IReadOnlyList<PooledOutcome> Judge(IReadOnlyList<SuiteLimits> suites, IReadOnlyList<PooledRun> runs)
    {
        var counted = runs.Where(r => r.Counts).ToList();
        var outcomes = new List<PooledOutcome>();
        foreach (var suite in suites)
        {
            var mine = counted.Where(r => r.Suite == suite.Suite).ToList();
            if (suite.Sequential.Count > 0)
            {
                var byRun = mine.Select(r => r.Played).ToList();
                outcomes.AddRange(suite.Limits.Zip(suite.Sequential).SelectMany(l => PooledJudge.Judge(l.First, l.Second, byRun)));
                continue;
            }
            foreach (var limit in suite.Limits) { outcomes.AddRange(Judge(limit, mine)); }
        }
        foreach (var limit in runs.SelectMany(r => r.Limits).Where(l => l.Confidence is not null).Distinct())
        {
            outcomes.AddRange(Judge(limit, [.. counted.Where(r => r.Limits.Contains(limit))]));
        }
        return outcomes;
    }

    /// <summary>Whether a plan that is tested trial by trial is at its end: every claim accepted, or one refused.</summary>
    /// <returns>Why it is; null: it goes on.</returns>
    public static string? Enough(IReadOnlyList<SuiteLimits> suites, IReadOnlyList<PooledRun> runs)
    {
        if (suites.Count == 0 || suites.Any(s => s.Sequential.Count == 0)) { return null; }
        var outcomes = Judge(suites, runs);
        if (outcomes.FirstOrDefault(o => o.Judged.Outcome == Outcome.Broken) is { } refused) { return $"{refused.Judged.Text} is refused"; }
        return outcomes.All(o => o.Judged.Outcome == Outcome.Held) ? "every claim is decided" : null;
    }

    public static Verdict Verdict(PooledOutcome pooled) => pooled.Judged.Outcome switch
    {
        Outcome.Held => Scoring.Verdict.Pass,
        Outcome.Broken => Scoring.Verdict.Fail,
        _ => Scoring.Verdict.Inconc,
    };

    private static IReadOnlyList<PooledOutcome> Judge(Limit limit, List<PooledRun> runs) =>
        PooledJudge.Judge(limit, [.. runs.SelectMany(r => r.Played)], [.. runs.SelectMany(r => r.Heard)]);
}
