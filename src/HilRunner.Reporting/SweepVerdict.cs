using HilRunner.Core.Sweeps;
using HilRunner.Scoring;

namespace HilRunner.Reporting;

/// <summary>The verdict of a sweep. What the rig spoiled, or what was not played, leaves it inconclusive: it is never the device's fault.</summary>
public static class SweepVerdict
{
    public static (Verdict Verdict, IReadOnlyList<string> Reasons) Of(Sweep sweep, SweepPlan plan)
    {
        ArgumentNullException.ThrowIfNull(sweep);
        ArgumentNullException.ThrowIfNull(plan);
        List<string> Sentences(Outcome outcome) => [.. sweep.Limits.Where(l => l.Outcome == outcome).Select(l => SweepWords.Sentence(l, sweep))];
        var spoiled = sweep.Runs.Where(r => r.Spoiled is not null).ToList();
        List<string> ill = [];
        if (sweep.Ended is null) { ill.Add($"not finished: {sweep.Runs.Count} of {sweep.Loops} loops were played"); }
        if (spoiled.Count > 0) { ill.Add($"the rig spoiled {spoiled.Count} of {sweep.Loops} loops: {spoiled[0].Spoiled}"); }
        int levels = sweep.Points.Sum(p => p.Levels.Count), unsettled = sweep.Points.Sum(p => p.Unsettled);
        // Next to its switching point a device may well hesitate: there is one such level in a leg.
        if (unsettled > 2 * sweep.Runs.Count) { ill.Add($"at {unsettled} of {levels} levels the class still changed when they ended: the dwell is too short"); }
        var (broken, open) = (Sentences(Outcome.Broken), Sentences(Outcome.Open));
        if (ill.Count > 0) { return (Verdict.Inconc, [.. ill, .. broken.Select(b => $"not held against the device: {b}"), .. open]); }
        if (broken.Count > 0) { return (Verdict.Fail, [.. broken, .. open]); }
        if (open.Count > 0) { return (Verdict.Inconc, open); }
        return plan.Limits.Count == 0 ? (Verdict.None, ["no limit was given, so nothing was judged"])
            : (Verdict.Pass, [sweep.Limits.Count == 1 ? "the limit held" : $"all {sweep.Limits.Count} limits held"]);
    }
}
