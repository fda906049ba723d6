using HilRunner.Application.Motions;
using HilRunner.Core.Recordings;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Statistics;
using HilRunner.Core.Time;
using HilRunner.Reporting;
using HilRunner.Scoring;
using HilRunner.Scoring.Pooling;
using HilRunner.Scoring.Trivial;

namespace HilRunner.Application.Batches;

/// <summary>What is played in one run, as far as a score needs it.</summary>
/// <param name="Motion">Where the motion of a trial comes from.</param>
/// <param name="Played">All of what is played.</param>
internal sealed record HeardRun(
    string? Suite, IReadOnlyList<ReferenceInterval> Reference, ScoringRules Rules, StimulusTime End, Func<TrialScore,
        TrialMotion> Motion, IReadOnlyList<PlayedMotion> Played)
{
    public static HeardRun Of(StoredRun run, SameMotions same) => Of(run.Manifest.Suite, run.Reference, run.Rules, run.End,
        run.Manifest.Sources, TrialMotion.Made(run.Manifest), same);

    public static HeardRun Of(BatchItem item, StimulusFacts facts, SameMotions same) => Of(item.Suite, facts.Reference,
        item.Scenario.Rules with { HoldNs = item.HoldNs ?? item.Scenario.Rules.HoldNs }, facts.End, facts.Sources,
        item.Document.Sha256, same);

    private static HeardRun Of(string? suite, IReadOnlyList<ReferenceInterval> reference, ScoringRules rules, StimulusTime end,
        IReadOnlyList<StimulusSource> sources, string made, SameMotions same) => new(suite, reference, rules, end,
        t => same.On(TrialMotion.Of(sources, reference, made, t)),
        [.. PlayedMotion.Of(reference, sources, made, end.Ns).Select(p => p with { Motion = same.On(p.Motion) })]);
}

/// <summary>
/// What devices that hear nothing would get: a suite or a plan that accepts one of them asks too little, whatever a real device
/// does.
/// </summary>
internal static class TrivialCheck
{
    /// <summary>
    /// Measures that say nothing of what was recognised: a device that hears nothing keeps them, as any other may.
    /// </summary>
    private static readonly Measure[] s_ofTheBench = [Measure.ReportLatency, Measure.DeviceResets, Measure.DeviceSilences,
        Measure.DeviceClockPpm];

    /// <summary>Null: nothing is asked, or what is played is not known, as where a person moves the device.</summary>
    public static TrivialResult? Of(IReadOnlyList<HeardRun> runs, IReadOnlyList<SuiteLimits> suites,
        IReadOnlyList<string> outputs)
    {
        var all = runs.SelectMany(r => r.Reference).ToList();
        bool asks = suites.Any(s => s.Limits.Count > 0) || runs.Any(r => r.Rules.Limits.Any(l =>
            !s_ofTheBench.Contains(l.Measure)));
        if (all.Count == 0 || !asks) { return null; }
        // The shortest first: most devices fail in it.
        var ordered = runs.OrderBy(r => r.End.Ns).ToList();
        var early = Claims(ordered, suites);
        TrivialDevice[] devices = [.. TrivialDevice.Of(all, TrivialResult.Draws)];
        var outcomes = new TrivialOutcome[devices.Length];
        Parallel.For(0, devices.Length, i => outcomes[i] = Outcome(devices[i], ordered, suites, early, outputs));
        return new(outcomes);
    }

    /// <summary>A claim on a share, and how many independent trials there are for it.</summary>
    private sealed record ShareClaim(Limit Limit, int Units);

    private static List<ShareClaim> Claims(IReadOnlyList<HeardRun> runs, IReadOnlyList<SuiteLimits> suites)
    {
        var trials = runs.SelectMany(r => TrialCounts.Hoped(r.Reference, r.Rules, r.End).Where(t => t.Counted)
            .Select(t => new PlayedTrial("", r.Motion(t), t, r.Rules.WithinNs))).ToList();
        return
        [
            .. suites.Where(s => s.Sequential.Count == 0).SelectMany(s => s.Limits)
                .Where(l => l is { Measure: Measure.Recognised, AtLeast: not null, Output: null })
                .Select(l => new ShareClaim(l, TrialUnit.Of(trials.Where(t => l.Class is null
                    || t.Score.Class == l.Class)).Count)),
        ];
    }

    private static TrivialOutcome Outcome(
        TrivialDevice device, IReadOnlyList<HeardRun> runs, IReadOnlyList<SuiteLimits> suites, List<ShareClaim> early,
            IReadOnlyList<string> outputs)
    {
        var pooled = new List<PooledRun>();
        var verdicts = new List<Verdict>();
        bool asksAlarms = suites.SelectMany(s => s.Limits).Concat(runs.SelectMany(r => r.Rules.Limits))
            .Any(l => l is { Measure: Measure.FalseAlarmsPerHour, Confidence: not null });
        for (int i = 0; i < runs.Count; i++)
        {
            var run = runs[i];
            var limits = run.Rules.Limits.Where(l => !s_ofTheBench.Contains(l.Measure)).ToList();
            var score = Scorer.Score(new()
            {
                Reference = run.Reference,
                Decisions = device.Decide(run.End, i, outputs),
                Outputs = outputs,
                End = run.End,
                Rules = run.Rules with { Limits = limits },
            });
            if (score.Verdict == Verdict.Fail) { return new(device, Verdict.Fail, score.Reasons[0], []); }
            verdicts.Add(score.Verdict);
            pooled.Add(new(run.Suite, limits, [.. score.Outputs.SelectMany(o => o.Trials.Select(t => new PlayedTrial(o.Output,
                run.Motion(t), t, run.Rules.WithinNs)))],
                !asksAlarms ? [] : [.. score.Outputs.SelectMany(o => HeardStretch.Of(o.Output, run.Played, o.Events))]));
            if (early.FirstOrDefault(c => IsLost(c, pooled)) is { } lost) { return new(device, Verdict.Fail,
                $"{PooledJudge.Text(lost.Limit)}: too many are missed", []); }
        }
        SuiteLimits[] asked = [.. suites.Select(s => s with { Limits = [.. s.Limits.Where(l =>
            !s_ofTheBench.Contains(l.Measure))] })
            .Where(s => s.Sequential.Count == 0 || s.Sequential.Count == s.Limits.Count)];
        var outcomes = PooledLimits.Judge(asked, pooled);
        var verdict = Verdicts.Worst([.. verdicts, .. outcomes.Select(PooledLimits.Verdict)]);
        string why = outcomes.FirstOrDefault(o => PooledLimits.Verdict(o) == verdict) is { } decided
            ? $"{decided.Judged.Text}: {decided.Judged.Why}" : "every limit held";
        return new(device, verdict, why, verdict == Verdict.Pass ? Missed(pooled) : [])
        {
            LongestTrialNs = runs.SelectMany(r => r.Reference).Max(r => r.End.Ns - r.Start.Ns),
        };
    }

    /// <summary>So many independent trials are missed already that the claim cannot be shown, whatever comes.</summary>
    private static bool IsLost(ShareClaim claim, List<PooledRun> soFar)
    {
        // Trials of one recording are taken for one: fewer than there may be, so that nothing is called lost that is not.
        int missed = soFar.SelectMany(r => r.Played).Where(t => t.Score is { Counted: true, Recognised: false }
            && (claim.Limit.Class is null || t.Score.Class == claim.Limit.Class))
            .Select(t => t.Motion.SourceKey ?? t.Motion.Recording).Distinct(StringComparer.Ordinal).Count();
        return missed > 0 && missed <= claim.Units
            && BinomialBounds.Lower(claim.Units - missed, claim.Units, claim.Limit.Confidence!.Value) is var low
                && !(low >= claim.Limit.AtLeast);
    }

    private static IReadOnlyList<string> Missed(List<PooledRun> runs) =>
    [
        .. runs.SelectMany(r => r.Played).Where(t => t.Score.Counted).GroupBy(t => t.Score.Class, StringComparer.Ordinal)
            .Where(g => g.All(t => !t.Score.Recognised)).Select(g => g.Key).Order(StringComparer.Ordinal),
    ];
}
