using HilRunner.Cli.Runs;
using HilRunner.Core.Acceptance;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals;
using HilRunner.Core.Statistics;
using HilRunner.Scoring;
using HilRunner.Scoring.Pooling;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Cli.Accepting;

/// <summary>What a claim takes, and what the pool of recordings gives.</summary>
/// <param name="Needed">Independent trials for 0 to 5 failures; of a latency's quantile for none beyond the bound.</param>
/// <param name="Units">Independent trials in the pool.</param>
/// <param name="Sources">Those of them that are a named source.</param>
/// <param name="Stretches">Labelled stretches in the pool, however many belong to one source.</param>
/// <param name="Shown">The share that the pool shows when nothing fails; null: for a latency.</param>
internal sealed record ClaimPlan(Limit Claim, string Text, IReadOnlyList<int> Needed, int Units, int Sources, int Stretches, double? Shown)
{
    /// <summary>Null: judged once, at the end.</summary>
    public SequentialPlan? Sequential { get; init; }

    /// <summary>Of a claim that is tested trial by trial; null too where the pool is too small to keep both risks.</summary>
    public SequentialTest? Test { get; init; }

    /// <summary>With nothing against it, the pool can show the claim.</summary>
    public bool CanBeShown => Sequential is null ? Units >= Needed[0] : Test is not null;

    /// <summary>Fewest trials that keep both risks; null: more than can be counted with.</summary>
    public int? FewestSequential()
    {
        for (int most = Units + 1; most <= MostSought; most = Math.Max(most + 1, most * 21 / 20))
        {
            if ((Sequential! with { MostTrials = most }).TestOf(Claim) is not null) { return most; }
        }
        return null;
    }

    private const int MostSought = 2_000;
}

/// <summary>The trials of a plan before anything is played, from the reference of every stimulus.</summary>
internal static class TrialPool
{
    private const int MostFailures = 5;

    public static IReadOnlyList<ClaimPlan> Of(Batch batch, Rig rig, IReadOnlyList<Limit> claims, out TimeSpan played)
    {
        var trials = Trials(batch.Items, rig, out played);
        var tests = batch.Suites.SelectMany(s => s.Sequential).ToList();
        return [.. claims.Select((claim, i) => Plan(claim, [.. trials.Where(t => claim.Class is null || t.Score.Class == claim.Class)], tests.ElementAtOrDefault(i)))];
    }

    /// <summary>How the claims of a plan are tested trial by trial, in their order: cut off where it says, or where the recordings end. Empty: it is of one size.</summary>
    public static IReadOnlyList<SequentialPlan> Tests(AcceptancePlan plan, IReadOnlyList<BatchItem> items, Rig rig)
    {
        if (plan.Sequential is not { } rule) { return []; }
        var trials = Trials(items, rig, out _);
        return [.. plan.Claims.Select(claim => new SequentialPlan(
            rule.Good, rule.Risk, Math.Max(1, Math.Min(rule.MostTrials ?? int.MaxValue, TrialUnit.Of(trials.Where(t => claim.Class is null || t.Score.Class == claim.Class)).Count))))];
    }

    private static List<PlayedTrial> Trials(IReadOnlyList<BatchItem> items, Rig rig, out TimeSpan played)
    {
        var trials = new List<PlayedTrial>();
        long ns = 0;
        foreach (var item in items)
        {
            var stimulus = StimulusBuilder.Build(item.Scenario, item.Folder, rig.Device.Input, item.Seed);
            ns += stimulus.Rate.TimeOf(stimulus.SampleCount).Ns;
            foreach (var interval in stimulus.Reference.Where(r => r.Class != "unscored" && !item.Scenario.Rules.Unscored.Contains(r.Class)))
            {
                trials.Add(new("", Motion(stimulus, interval, item.Document.Sha256), Expected(interval), item.Scenario.Rules.WithinNs));
            }
        }
        played = TimeSpan.FromTicks(ns / 100);
        return trials;
    }

    private static ClaimPlan Plan(Limit claim, IReadOnlyList<PlayedTrial> trials, SequentialPlan? sequential)
    {
        var units = TrialUnit.Of(trials);
        double confidence = claim.Confidence!.Value;
        bool isShare = claim.Measure == Measure.Recognised;
        double share = isShare ? claim.AtLeast ?? 1 - claim.AtMost!.Value : Quantile(claim.Statistic!.Value);
        IReadOnlyList<int> needed = share is > 0 and < 1
            ? [.. Enumerable.Range(0, isShare ? MostFailures + 1 : 1).Select(failures => SampleSize.Trials(share, confidence, failures))]
            : [1];
        int stretches = trials.Select(t => (t.Motion.Recording, t.Motion.FromNs)).Distinct().Count();
        return new(claim, PooledJudge.Text(claim), needed, units.Count, units.Count(u => u.Source is not null), stretches, isShare ? BinomialBounds.Lower(units.Count, units.Count, confidence) : null)
        {
            Sequential = sequential,
            Test = sequential?.TestOf(claim),
        };
    }

    private static TrialMotion Motion(Stimulus stimulus, ReferenceInterval interval, string scenario)
    {
        if (interval.Segment is not { } segment) { return new(scenario, interval.Start.Ns, interval.End.Ns, null); }
        var source = stimulus.Sources[segment.Recording - 1];
        return new(source.Sha256, segment.From.Ns, segment.To.Ns, source.Info.Source);
    }

    /// <summary>As it is hoped for: only what was played counts here.</summary>
    private static TrialScore Expected(ReferenceInterval interval) => new()
    {
        Class = interval.Class, StartNs = interval.Start.Ns, EndNs = interval.End.Ns, Already = false, Missed = false, Recognised = true, Counted = true,
    };

    private static double Quantile(Statistic statistic) => statistic switch { Statistic.P50 => 0.5, Statistic.P90 => 0.9, Statistic.P95 => 0.95, _ => 0.99 };
}
