using HilRunner.Core.Scenarios;
using HilRunner.Reporting;
using HilRunner.Scoring;
using HilRunner.Scoring.Pooling;

namespace HilRunner.Cli.Runs;

/// <summary>The limits of a suite, judged over the trials of all its runs.</summary>
internal sealed record SuiteLimits(string Suite, IReadOnlyList<Limit> Limits)
{
    /// <summary>Shifts of latency that are nobody's business.</summary>
    public CompareTolerances Tolerances { get; init; } = new();
}

/// <summary>Judges the limits with a confidence: a suite's over its runs, a scenario's over the runs of all scenarios that state the same one.</summary>
internal static class PooledLimits
{
    /// <param name="runs">All of the batch, with what a suite page shows of each.</param>
    public static IReadOnlyList<PooledOutcome> Judge(IReadOnlyList<SuiteLimits> suites, IReadOnlyList<(StoredRun Stored, SuiteRun Shown)> runs)
    {
        var counted = runs.Where(r => r.Shown.Counts).ToList();
        var outcomes = new List<PooledOutcome>();
        foreach (var suite in suites)
        {
            var trials = Trials(counted.Where(r => r.Stored.Manifest.Suite == suite.Suite));
            foreach (var limit in suite.Limits) { outcomes.AddRange(PooledJudge.Judge(limit, trials)); }
        }
        foreach (var limit in runs.SelectMany(r => r.Stored.Rules.Limits).Where(l => l.Confidence is not null).Distinct())
        {
            outcomes.AddRange(PooledJudge.Judge(limit, Trials(counted.Where(r => r.Stored.Rules.Limits.Contains(limit)))));
        }
        return outcomes;
    }

    public static Verdict Verdict(PooledOutcome pooled) => pooled.Judged.Outcome switch
    {
        Outcome.Held => Scoring.Verdict.Pass,
        Outcome.Broken => Scoring.Verdict.Fail,
        _ => Scoring.Verdict.Inconc,
    };

    private static IReadOnlyList<PlayedTrial> Trials(IEnumerable<(StoredRun Stored, SuiteRun Shown)> runs) => [.. runs.SelectMany(r => r.Shown.Played)];
}
