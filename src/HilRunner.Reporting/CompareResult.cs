using HilRunner.Scoring.Comparing;

namespace HilRunner.Reporting;

/// <summary>Two builds side by side, as the terminal and the page show them.</summary>
/// <param name="Baseline">Its name: a label, a hash or a folder.</param>
/// <param name="Candidate">Likewise.</param>
public sealed record CompareResult(string Baseline, string Candidate, BuildComparison Comparison)
{
    public bool SeveralOutputs => Comparison.Differences.Select(d => d.Output).Where(o => o.Length > 0).Distinct().Count() > 1;
    public int BaselineRuns { get; init; }
    public int CandidateRuns { get; init; }
    /// <summary>Batches of the baseline's image beside the one that was named: they do not count.</summary>
    public int MoreOfBaseline { get; init; }
    /// <summary>Runs of both that prove nothing: the rig was at fault, or they did not reach their end.</summary>
    public int LeftOut { get; init; }
    /// <summary>Of the runs of both, those of which nothing shows that everything arrived.</summary>
    public int DeliveryNotShown { get; init; }
    /// <summary>Of the runs of both, those that were scored by earlier definitions, and again from their captures.</summary>
    public int ScoredAgain { get; init; }
    /// <summary>Runs of earlier definitions that could not be scored again and are left out, each with the reason.</summary>
    public IReadOnlyList<string> EarlierLeftOut { get; init; } = [];
    /// <summary>Trials that changed, the worst first.</summary>
    public IReadOnlyList<ChangedTrial> Changed { get; init; } = [];
    /// <summary>More than the page shows.</summary>
    public int ChangedMore { get; init; }
}

/// <summary>A trial that changed, with a run of each build that shows it.</summary>
public sealed record ChangedTrial(TrialPair Pair, StoredRun Baseline, StoredRun Candidate)
{
    /// <summary>Addresses of their reports, relative to the page.</summary>
    public string BaselineReport { get; init; } = "";
    public string CandidateReport { get; init; } = "";
}
