using HilRunner.Scoring;
using HilRunner.Scoring.Pooling;

namespace HilRunner.Reporting;

/// <summary>Which limits decided a verdict: those a reader must see first.</summary>
internal static class LimitOrder
{
    /// <summary>Broken, then open, then held; among equals the one nearest its bound (or farthest beyond it) first.</summary>
    public static IReadOnlyList<LimitOutcome> DecidingFirst(Score score) => DecidingFirst(score.Limits);

    public static IReadOnlyList<LimitOutcome> DecidingFirst(IReadOnlyList<LimitOutcome> limits) =>
        [.. limits.OrderBy(l => l.Outcome switch { Outcome.Broken => 0, Outcome.Open => 1, _ => 2 }).ThenBy(Margin)];

    public static IReadOnlyList<PooledOutcome> DecidingFirst(IReadOnlyList<PooledOutcome> pooled) =>
        [.. pooled.OrderBy(p => p.Judged.Outcome switch { Outcome.Broken => 0, Outcome.Open => 1, _ => 2 }).ThenBy(p => Margin(p.Judged))];

    /// <summary>Distance from the bound on the good side, as a share of the bound; negative beyond it. Infinite where undefined.</summary>
    internal static double Margin(LimitOutcome l)
    {
        if (l.Figure is not { } figure) { return double.PositiveInfinity; }
        double good = l.Limit.AtLeast is null ? l.Bound - figure : figure - l.Bound;
        // A count that must be 0 and is 0 holds trivially: it decides nothing.
        if (l.Bound == 0) { return good == 0 ? double.MaxValue : good; }
        return good / Math.Abs(l.Bound);
    }
}
