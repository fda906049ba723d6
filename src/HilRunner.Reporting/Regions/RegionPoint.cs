using HilRunner.Core.Scenarios;
using HilRunner.Core.Scenarios.Varying;
using HilRunner.Scoring;

namespace HilRunner.Reporting.Regions;

/// <summary>A value of one parameter, or an interval of drawn ones.</summary>
/// <param name="To">The same as <paramref name="From"/> for a value of a grid.</param>
public sealed record RegionBin(VariedParameter Parameter, decimal From, decimal To)
{
    public string Label => From == To ? Parameter.Show(From) : $"{Parameter.Show(From)} to {Parameter.Show(To)}";
    public decimal Middle => (From + To) / 2;
}

/// <summary>What came out in one place of a region: the counted trials of its usable runs, repeats and all.</summary>
/// <param name="Holds">Enough was recognised; null: nothing was judged there.</param>
/// <param name="MedianS">Of the reactions in s, a missed one as +∞; null without.</param>
/// <param name="Passed">Usable runs that passed.</param>
/// <param name="Usable">Runs that prove something: the rig was healthy, and they were not played again.</param>
/// <param name="Left">Runs that were left out.</param>
/// <param name="Short">Classes of which trials were not recognised, the worst first.</param>
public sealed record RegionPoint(bool? Holds, int Recognised, int Counted, double? MedianS, int Passed, int Usable, int Left, IReadOnlyList<string> Short)
{
    /// <summary>Null where nothing was counted.</summary>
    public double? Share => Counted == 0 ? null : (double)Recognised / Counted;

    /// <summary>3 of 4.</summary>
    public string Count => FormattableString.Invariant($"{Recognised} of {Counted}");

    /// <summary>Every run passed; null: none can be used.</summary>
    public bool? AllPassed => Usable == 0 ? null : Passed == Usable;

    internal static RegionPoint Of(IReadOnlyList<SuiteRun> runs, string output)
    {
        var usable = runs.Where(r => !r.PlayedAgain && !r.RigFault && r.Verdict != Verdict.Error).ToList();
        var trials = usable.SelectMany(r => r.Trials).Where(t => t.Output == output && t.Counted).ToList();
        var limits = runs.Count == 0 ? [] : runs[0].RecognisedLimits.Where(l => l.Output is null || l.Output == output).ToList();
        return new(Judge(trials, limits), trials.Count(t => t.Recognised), trials.Count, PooledLatency.Median(trials.Where(t => !t.Already).Select(t => t.Recognised ? t.ReactionNs : null)),
            usable.Count(r => r.Verdict == Verdict.Pass), usable.Count, runs.Count(r => !r.PlayedAgain) - usable.Count,
            [
                .. trials.GroupBy(t => t.Class, StringComparer.Ordinal).Where(g => g.Any(t => !t.Recognised))
                    .OrderBy(g => (double)g.Count(t => t.Recognised) / g.Count()).ThenBy(g => g.Key, StringComparer.Ordinal)
                    .Select(g => FormattableString.Invariant($"{g.Key} {g.Count(t => t.Recognised)} of {g.Count()}")),
            ]);
    }

    /// <summary>By the scenario's own limits on what is recognised; where it has none, every trial must be.</summary>
    private static bool? Judge(List<SuiteTrial> trials, List<Limit> limits)
    {
        if (limits.Count == 0) { return trials.Count == 0 ? null : trials.All(t => t.Recognised); }
        bool? holds = null;
        foreach (var limit in limits)
        {
            var of = trials.Where(t => limit.Class is null || t.Class == limit.Class).ToList();
            if (of.Count == 0) { continue; }
            double share = (double)of.Count(t => t.Recognised) / of.Count;
            bool held = share >= (limit.AtLeast ?? 0) && share <= (limit.AtMost ?? 1);
            holds = held && holds != false;
        }
        return holds;
    }
}
