using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Limits;

namespace HilRunner.Scoring;

/// <summary>Verdicts by the overwriting rules of ETSI ES 201 873-1, clause 24.1: none &lt; pass &lt; inconc &lt; fail &lt; error.</summary>
public static class Verdicts
{
    /// <summary>The worst of them: a verdict never improves. <see cref="Verdict.None"/> when there is none.</summary>
    public static Verdict Worst(IEnumerable<Verdict> verdicts)
    {
        var worst = Verdict.None;
        foreach (var verdict in verdicts)
        {
            if (verdict > worst) { worst = verdict; }
        }
        return worst;
    }

    /// <summary>The word in files and on screens.</summary>
    public static string Word(Verdict verdict) => verdict switch
    {
        Verdict.None => "none",
        Verdict.Pass => "pass",
        Verdict.Inconc => "inconc",
        Verdict.Fail => "fail",
        Verdict.Error => "error",
        _ => throw new ArgumentOutOfRangeException(nameof(verdict), verdict, "is no verdict"),
    };

    /// <summary>One run's verdict with its reasons, the deciding one first; the reasons leave the verdict's word to the reader's page.</summary>
    /// <param name="given">The scenario's own limits, without the default ones.</param>
    internal static (Verdict Verdict, IReadOnlyList<string> Reasons) Judge(
        IReadOnlyList<LimitOutcome> limits, IReadOnlyList<Limit> given, RigHealth health, bool severalOutputs)
    {
        // A device that fell silent or started anew got everything after that wrong: that comes first.
        List<string> Sentences(Outcome outcome) => limits
            .Where(l => l.Outcome == outcome && l.Limit.Confidence is null)
            .OrderBy(l => l.Limit.Measure is Measure.DeviceSilences or Measure.DeviceResets ? 0 : 1)
            .Select(l => LimitText.Sentence(l, severalOutputs)).ToList();

        var broken = Sentences(Outcome.Broken);
        var open = Sentences(Outcome.Open);
        List<string> ill = [.. health.Faults];
        if (health.Incomplete) { ill.Add("the run did not reach its end: the figures cover what was played of it"); }

        if (ill.Count > 0)
        {
            return (Verdict.Inconc, [.. ill, .. broken.Select(b => $"not held against the device, as the rig was at fault: {b}"), .. open]);
        }
        if (broken.Count > 0) { return (Verdict.Fail, [.. broken, .. open]); }
        if (open.Count > 0) { return (Verdict.Inconc, open); }
        int pooled = limits.Count(l => l.Limit.Confidence is not null);
        int held = limits.Count - pooled;
        if (given.Count == 0) { return (Verdict.None, ["no limit was given, so nothing was judged"]); }
        if (given.All(l => l.Confidence is not null))
        {
            return (Verdict.None, [$"nothing was judged in this run alone: its limits are {LimitJudge.Pooled}"]);
        }
        string rest = pooled == 0 ? "" : $"; {pooled} more to be {LimitJudge.Pooled}";
        return (Verdict.Pass, [(held == 1 ? "the limit held" : $"all {held} limits held") + rest]);
    }
}
