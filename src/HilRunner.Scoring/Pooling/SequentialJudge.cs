using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Limits;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Pooling;

/// <summary>
/// A claim tested trial by trial (Wald 1947). Units come in the order of the runs, each judged by the first run that has a counted trial of it, as its worst play there: what is played
/// of it later changes nothing, so that the outcome is the same now, and from what is stored. A unit whose timing straddles the scenario's bound is a failure for accepting and none for refusing.
/// </summary>
internal static class SequentialJudge
{
    /// <param name="runs">Counted trials of the claim's class and output, run by run in the order in which they were played.</param>
    public static PooledOutcome Judge(Limit claim, SequentialPlan plan, IReadOnlyList<IReadOnlyList<PlayedTrial>> runs)
    {
        var first = new Dictionary<PlayedTrial, int>(ReferenceEqualityComparer.Instance);
        for (int run = 0; run < runs.Count; run++) { foreach (var trial in runs[run]) { first[trial] = run; } }
        var all = runs.SelectMany(r => r).ToList();
        var units = TrialUnit.Of(all).OrderBy(u => u.Plays.Min(p => first[p])).ToList();
        var judged = units.Select(u => u.Plays.GroupBy(p => first[p]).MinBy(g => g.Key)!.ToList()).ToList();
        bool[] failed = [.. judged.Select(plays => !plays.All(ShareJudge.Surely))], surely = [.. judged.Select(plays => !plays.All(ShareJudge.Possibly))];
        var test = plan.TestOf(claim);
        var (outcome, at) = test is null ? (SequentialOutcome.GoOn, null) : Decide(test, failed, surely);
        var ended = outcome switch { SequentialOutcome.Accept => Outcome.Held, SequentialOutcome.Reject => Outcome.Broken, _ => Outcome.Open };
        int recognised = all.Count(t => t.Score.Recognised);
        return new(new(claim, LimitText.Of(claim), all.Count == 0 ? null : (double)recognised / all.Count, LimitText.Bound(claim), ended, Why(claim, plan, test, failed, at, ended), ""))
        {
            Units = units.Count, UnitsRecognised = failed.Count(f => !f), Plays = all.Count, PlaysRecognised = recognised, Sources = units.Count(u => u.Source is not null),
            Course = test is null ? null : new(test, failed, at),
        };
    }

    private static (SequentialOutcome Outcome, int? At) Decide(SequentialTest test, bool[] failed, bool[] surely)
    {
        int most = 0, least = 0;
        for (int n = 1; n <= Math.Min(failed.Length, test.MostTrials); n++)
        {
            most += failed[n - 1] ? 1 : 0;
            least += surely[n - 1] ? 1 : 0;
            if (test.Decide(n, most) == SequentialOutcome.Accept) { return (SequentialOutcome.Accept, n); }
            if (test.Decide(n, least) == SequentialOutcome.Reject) { return (SequentialOutcome.Reject, n); }
        }
        return (SequentialOutcome.GoOn, null);
    }

    private static string Why(Limit claim, SequentialPlan plan, SequentialTest? test, bool[] failed, int? at, Outcome ended)
    {
        string risks = FormattableString.Invariant($"risks {LimitText.Number(Math.Round(1 - claim.Confidence!.Value, 9))} of accepting at {LimitText.Number(claim.AtLeast!.Value)}, {LimitText.Number(plan.Risk)} of refusing at {LimitText.Number(plan.Good)}");
        if (test is null) { return $"{plan.MostTrials} independent trials cannot keep both {risks}"; }
        int n = at ?? failed.Length, failures = failed.Take(n).Count(f => f);
        string counted = $"{Trials(n)} with {LimitText.Number(failures)} {(failures == 1 ? "failure" : "failures")}";
        return ended switch
        {
            Outcome.Held => $"accepted after {counted}, of {test.MostTrials} at most; {risks}",
            Outcome.Broken => $"refused after {counted}, of {test.MostTrials} at most; {risks}",
            _ => $"undecided after {counted}, of {test.MostTrials} at most; {risks}",
        };
    }

    private static string Trials(int n) => n == 1 ? "1 independent trial" : $"{n} independent trials";
}
