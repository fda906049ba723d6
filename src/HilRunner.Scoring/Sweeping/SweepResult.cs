using HilRunner.Core.Sweeps;

namespace HilRunner.Scoring.Sweeping;

/// <summary>What a sweep found at one value across. Levels are in the unit of what is swept.</summary>
/// <param name="Across">In its unit; null: nothing has several values.</param>
public sealed record SweepPoint(decimal? Across, IReadOnlyList<Switch> Switches, IReadOnlyList<SettledClass> Levels)
{
    /// <summary>Levels at which the class still changed when the dwell ended.</summary>
    public int Unsettled => Levels.Count(l => !l.Settled);

    public static SweepPoint Of(decimal? across, IReadOnlyList<SettledClass> levels, SweepPlan plan)
    {
        ArgumentNullException.ThrowIfNull(plan);
        return new(across, SwitchFinder.Find(levels, (double)plan.Motion.Along.InUnit(plan.Motion.Range.By), plan.Confidence), levels);
    }
}

/// <param name="Limit">Its bounds in the unit of what is swept.</param>
/// <param name="Point">Value across; null: nothing has several values.</param>
/// <param name="Switch">The classes of the boundary; null: there is none that the limit is about.</param>
/// <param name="Figure">Null: undefined.</param>
/// <param name="Why">Of an open or broken limit.</param>
public sealed record SweepLimitOutcome(SweepLimit Limit, decimal? Point, string? Switch, MeanInterval? Figure, Outcome Outcome, string Why);

/// <summary>Holds what a sweep found against its plan's limits.</summary>
public static class SweepJudge
{
    public static IReadOnlyList<SweepLimitOutcome> Judge(SweepPlan plan, IReadOnlyList<SweepPoint> points)
    {
        ArgumentNullException.ThrowIfNull(plan);
        ArgumentNullException.ThrowIfNull(points);
        decimal? InUnit(decimal? bound) => bound is { } b ? plan.Motion.Along.InUnit(b) : null;
        return [.. plan.Limits.Select(l => l with { AtLeast = InUnit(l.AtLeast), AtMost = InUnit(l.AtMost) }).SelectMany(limit => points.SelectMany(point => Of(limit, point)))];
    }

    private static IEnumerable<SweepLimitOutcome> Of(SweepLimit limit, SweepPoint point)
    {
        var about = point.Switches.Where(s => limit.Class is null || s.Above == limit.Class).ToList();
        if (about.Count == 0) { return [new(limit, point.Across, null, null, Outcome.Open, limit.Class is { } name ? $"{name} was not entered within the range" : "the class did not switch within the range")]; }
        return about.Select(s => Of(limit, point.Across, s));
    }

    private static SweepLimitOutcome Of(SweepLimit limit, decimal? across, Switch found)
    {
        string name = $"{found.Below} to {found.Above}";
        if ((limit.Measure switch { SweepMeasure.SwitchUp => found.Up, SweepMeasure.SwitchDown => found.Down, _ => found.Width }) is not { } figure)
        {
            return new(limit, across, name, null, Outcome.Open, "no leg reached it");
        }
        if (!found.IsReached) { return new(limit, across, name, figure, Outcome.Open, $"{found.LegsPlayed - found.Legs.Count} of {found.LegsPlayed} legs did not reach it: take a wider range"); }
        double least = (double?)limit.AtLeast ?? double.NegativeInfinity, most = (double?)limit.AtMost ?? double.PositiveInfinity;
        if (figure.Interval.Low >= least && figure.Interval.High <= most) { return new(limit, across, name, figure, Outcome.Held, ""); }
        return figure.Interval.High < least || figure.Interval.Low > most ? new(limit, across, name, figure, Outcome.Broken, "")
            : new(limit, across, name, figure, Outcome.Open, "its interval reaches over the bound: more repeats or a finer step narrow it");
    }
}
