using HilRunner.Scoring;

namespace HilRunner.Reporting.SuitePage;

/// <summary>
/// One class of one output over a suite. Independent: the counted trials of the first usable run of each distinct motion. Every
/// further run of the same motion only shows whether the outcome repeats.
/// </summary>
/// <param name="Repeated">Trials that were played more than once, in the same scenario.</param>
/// <param name="Steady">Those of them that came out the same each time.</param>
internal sealed record ClassCount(string Output, string Class, int Recognised, int Counted, int Motions, int Repeated, int Steady)
{
    /// <summary>Runs that were played again, failed as a tool, or had a faulty rig prove nothing and are left out.</summary>
    public static IReadOnlyList<ClassCount> Of(IReadOnlyList<SuiteRun> runs)
    {
        var usable = runs.Where(r => !r.PlayedAgain && !r.RigFault && r.Verdict != Verdict.Error).ToList();
        var first = usable.DistinctBy(r => r.Motion).ToHashSet(ReferenceEqualityComparer.Instance);
        return
        [
            .. usable.SelectMany(run => run.Trials.Select(trial => (Run: run, Trial: trial)))
                .GroupBy(t => (t.Trial.Output, t.Trial.Class))
                .OrderBy(g => g.Key.Output, StringComparer.Ordinal).ThenBy(g => g.Key.Class, StringComparer.Ordinal)
                .Select(g => Count(g.Key.Output, g.Key.Class, [.. g], first)),
        ];
    }

    private static ClassCount Count(string output, string name, List<(SuiteRun Run, SuiteTrial Trial)> trials, HashSet<object?> first)
    {
        var independent = trials.Where(t => first.Contains(t.Run) && t.Trial.Counted).ToList();
        var repeated = trials.Where(t => t.Trial.Counted).GroupBy(t => (t.Run.Scenario, t.Trial.StartNs)).Where(g => g.Count() > 1).ToList();
        return new(output, name, independent.Count(t => t.Trial.Recognised), independent.Count, independent.Select(t => t.Run.Motion).Distinct().Count(),
            repeated.Count, repeated.Count(g => g.Select(t => t.Trial.Recognised).Distinct().Count() == 1));
    }
}
