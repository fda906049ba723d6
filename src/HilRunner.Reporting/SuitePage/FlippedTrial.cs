using HilRunner.Scoring.Pooling;

namespace HilRunner.Reporting.SuitePage;

/// <summary>A trial that was played more than once on one image, in the same scenario at the same values.</summary>
/// <param name="Runs">Those that played it, in their order.</param>
internal sealed record FlippedTrial(string Scenario, PlayedTrial First, IReadOnlyList<SuiteRun> Runs, int Recognised)
{
    public int Plays => Runs.Count;

    public bool Steady => Recognised == 0 || Recognised == Plays;

    public static IEnumerable<FlippedTrial> Repeated(IEnumerable<(SuiteRun Run, PlayedTrial Trial)> plays) => plays
        .Where(p => p.Trial.Score.Counted)
        .GroupBy(p => (p.Run.Scenario, p.Run.VariedFrom, p.Run.Variation, p.Trial.Output, p.Trial.Score.Class, p.Trial.Score.StartNs))
        .Where(g => g.Count() > 1)
        .Select(g => new FlippedTrial(g.Key.Scenario, g.First().Trial, [.. g.Select(p => p.Run)], g.Count(p => p.Trial.Score.Recognised)));

    /// <summary>Those that did not come out the same each time, the most undecided first.</summary>
    public static IReadOnlyList<FlippedTrial> Of(IReadOnlyList<SuiteRun> runs) =>
    [
        .. Repeated(runs.Where(r => r.Counts).SelectMany(run => run.Played.Select(trial => (run, trial)))).Where(t => !t.Steady)
            .OrderBy(t => Math.Abs(0.5 - (double)t.Recognised / t.Plays)).ThenBy(t => t.Scenario, StringComparer.Ordinal).ThenBy(t => t.First.Score.StartNs),
    ];
}
