using HilRunner.Core.Scenarios;
using HilRunner.Core.Statistics;

namespace HilRunner.Scoring.Comparing;

public enum Change { NoneShown, Better, Worse, TooFew }

/// <summary>One measure of one class (of all, where it has none) on both builds, and whether it changed.</summary>
/// <param name="Output">"": of the device.</param>
/// <param name="Class">Null: all classes together, or the device.</param>
public sealed record Difference(Measure Measure, string Output, string? Class)
{
    public required Change Change { get; init; }
    /// <summary>Which of the two questions the word rests on; null: of the device's clock, which is no test.</summary>
    public Basis? Basis { get; init; }
    /// <summary>Did it change on these recordings?</summary>
    public Answer? Here { get; init; }
    /// <summary>Would it be otherwise on motion like this?</summary>
    public Answer? Beyond { get; init; }
    /// <summary>
    /// Several of the trials share a run: the second question takes it that they err independently all the same.
    /// </summary>
    public bool SharesRuns { get; init; }
    /// <summary>
    /// On one and the same build trials of a run came out alike, more than chance explains: the second question does not count.
    /// </summary>
    public bool HangsTogether { get; init; }
    /// <summary>Runs of each scenario on each build that the first question needs; null: it has them, or more than ten.</summary>
    public int? RunsForHere { get; init; }
    /// <summary>Trials that both builds have.</summary>
    public int Pairs { get; init; }
    /// <summary>Independent trials among them.</summary>
    public int Units { get; init; }
    /// <summary>Trials that were recognised in a smaller share of their plays than before.</summary>
    public int Lost { get; init; }
    /// <summary>Likewise in a larger share.</summary>
    public int Gained { get; init; }
    /// <summary>Trials that came out otherwise in one play than in another on the same build.</summary>
    public int Unsteady { get; init; }
    /// <summary>
    /// Of the trials that the baseline played more than once, how many came out the same each time, of how many.
    /// </summary>
    public (int Same, int Trials) SteadyBefore { get; init; }
    /// <summary>Likewise on the candidate.</summary>
    public (int Same, int Trials) SteadyNow { get; init; }
    /// <summary>Share of plays recognised on the baseline, each trial counting once.</summary>
    public double? ShareBefore { get; init; }
    /// <summary>Likewise on the candidate.</summary>
    public double? ShareNow { get; init; }
    /// <summary>Each trial was played once on each build.</summary>
    public bool OnePlayEach { get; init; }
    /// <summary>
    /// Two-sided, adjusted over the classes of this measure (Holm), of the question that counts. Null where nothing was tested.
    /// </summary>
    public double? P { get; init; }
    /// <summary>Of a share with one play each, not adjusted: less conservative than the exact one.</summary>
    public double? MidP { get; init; }
    /// <summary>Candidate less baseline: a share, seconds, or a count a trial.</summary>
    public double? Shift { get; init; }
    /// <summary>95 % interval of the shift.</summary>
    public Interval? Interval { get; init; }
    /// <summary>The smallest drop that so many trials could have shown.</summary>
    public double? Smallest { get; init; }
    /// <summary>In words; "" where the figures say it.</summary>
    public string Why { get; init; } = "";
}
