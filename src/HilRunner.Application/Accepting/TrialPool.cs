using HilRunner.Application.Batches;
using HilRunner.Application.Motions;
using HilRunner.Core.Recordings;
using HilRunner.Core;
using HilRunner.Core.Acceptance;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals;
using HilRunner.Core.Statistics;
using HilRunner.Scoring;
using HilRunner.Scoring.Pooling;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Application.Accepting;

/// <summary>What a claim takes, and what the pool of recordings gives.</summary>
/// <param name="Needed">Independent trials for 0 to 5 failures; of a latency's quantile for none beyond the bound.</param>
/// <param name="Units">Independent trials in the pool.</param>
/// <param name="Sources">Those of them that are a named source.</param>
/// <param name="Stretches">Labelled stretches in the pool, however many belong to one source.</param>
/// <param name="Shown">The share that the pool shows when nothing fails; null: for a latency.</param>
internal sealed record ClaimPlan(Limit Claim, string Text, IReadOnlyList<int> Needed, int Units, int Sources, int Stretches, double? Shown)
{
    /// <summary>Sentences on its trials that cannot count, by scenario and class.</summary>
    public IReadOnlyList<string> Short { get; init; } = [];

    /// <summary>Independent trials that there would be if those counted, too.</summary>
    public int UnitsWithShort { get; init; }

    /// <summary>It cannot be shown for the trials that cannot count, and for nothing else.</summary>
    public bool IsKeptFromIt => Hours is null && !CanBeShown && UnitsWithShort > Units
        && (Sequential is null ? UnitsWithShort >= Needed[0]
            : (Sequential with { MostTrials = UnitsWithShort }).TestOf(Claim) is not null);

    /// <summary>Null: judged once, at the end.</summary>
    public SequentialPlan? Sequential { get; init; }

    /// <summary>Of a claim that is tested trial by trial; null too where the pool is too small to keep both risks.</summary>
    public SequentialTest? Test { get; init; }

    /// <summary>Of a claim on false alarms an hour: hours instead of trials; null: of any other.</summary>
    public HoursPlan? Hours { get; init; }

    /// <summary>With nothing against it, the pool can show the claim.</summary>
    public bool CanBeShown => Hours is { } hours ? hours.Given >= hours.Needed[0]
        : Sequential is null ? Units >= Needed[0] : Test is not null;

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

/// <summary>What a claim on false alarms an hour takes, and what the recordings give.</summary>
/// <param name="Needed">Hours of different motion for 0 to 5 false alarms; infinite where no time would do.</param>
/// <param name="Given">Hours of different motion in the recordings.</param>
internal sealed record HoursPlan(IReadOnlyList<double> Needed, double Given);

/// <summary>The trials of a plan before anything is played, from the reference of every stimulus.</summary>
internal static class TrialPool
{
    private const int MostFailures = 5;

    public static IReadOnlyList<ClaimPlan> Of(Batch batch, Rig rig, SameMotions same, IReadOnlyList<Limit> claims,
        out TimeSpan played)
    {
        var trials = same.On(Trials(batch.Items, rig, out played, out var notes, out var motion));
        var heard = same.On(motion);
        var tests = batch.Suites.SelectMany(s => s.Sequential).ToList();
        return
        [
            .. claims.Select((claim, i) => (claim.Measure == Measure.FalseAlarmsPerHour ? Plan(claim, heard)
                : Plan(claim, [.. trials.Where(t => IsOf(claim, t))], tests.ElementAtOrDefault(i))) with
            {
                Short = [.. notes.Where(n => claim.Class is null || n.Class == claim.Class).Select(n => n.Text)],
            }),
        ];
    }

    /// <summary>How the claims of a plan are tested trial by trial, in their order: cut off where it says, or where the recordings end. Empty: it is of one size.</summary>
    public static IReadOnlyList<SequentialPlan> Tests(AcceptancePlan plan, IReadOnlyList<BatchItem> items, Rig rig)
    {
        if (plan.Sequential is not { } rule) { return []; }
        var played = new List<(string Folder, IReadOnlyList<StimulusSource> Sources)>();
        var all = Trials(items, rig, out _, out _, out _, played);
        var trials = SameMotions.Of(played).On(all);
        return
        [
            .. plan.Claims.Select(claim => new SequentialPlan(rule.Good, rule.Risk, Math.Max(1, Math.Min(
                rule.MostTrials ?? int.MaxValue, TrialUnit.Of(trials.Where(t => IsOf(claim, t) && t.Score.Counted)).Count)))),
        ];
    }

    /// <summary>A claim that its recordings could show if all of their trials counted is one that nobody can reach.</summary>
    /// <exception cref="BadInputException">There are such claims; holds them all.</exception>
    public static void RefuseUnreachable(string path, IReadOnlyList<ClaimPlan> claims)
    {
        Fault[] faults =
        [
            .. claims.Where(c => c.IsKeptFromIt).Select(c => new Fault(path, 0, 0,
                $"{c.Text}, which cannot be reached: of {c.UnitsWithShort} independent trials {c.Units} count. {string.Join(". ", c.Short)}",
                "within and hold that leave enough trials to count, or longer trials",
                    "change within: and hold:, or record longer trials")),
        ];
        if (faults.Length > 0) { throw new BadInputException(faults); }
    }

    private static bool IsOf(Limit claim, PlayedTrial trial) => claim.Class is null || trial.Score.Class == claim.Class;

    private static List<PlayedTrial> Trials(
        IReadOnlyList<BatchItem> items, Rig rig, out TimeSpan played, out List<(string Class, string Text)> notes,
        out List<HeardStretch> heard, List<(string Folder, IReadOnlyList<StimulusSource> Sources)>? sources = null)
    {
        var trials = new List<PlayedTrial>();
        notes = [];
        heard = [];
        long ns = 0;
        foreach (var item in items)
        {
            var stimulus = StimulusBuilder.Build(item.Scenario, item.Folder, rig.Device.Input, item.Seed);
            sources?.Add((item.Folder, stimulus.Sources));
            ns += stimulus.Rate.TimeOf(stimulus.SampleCount).Ns;
            var rules = item.Scenario.Rules;
            heard.AddRange(HeardStretch.Of("", PlayedMotion.Of(stimulus.Reference, stimulus.Sources, item.Document.Sha256,
                stimulus.End.Ns), new Dictionary<string, EventScore>()));
            foreach (var hoped in TrialCounts.Hoped(stimulus.Reference, rules, stimulus.End))
            {
                trials.Add(new("", TrialMotion.Of(stimulus.Sources, stimulus.Reference, item.Document.Sha256, hoped), hoped,
                    rules.WithinNs));
            }
            notes.AddRange(TrialCounts.Of(stimulus.Reference, rules, stimulus.End)
                .SelectMany(c => c.Notes.Select(n => (c.Class, $"{item.Scenario.Name}: {n}"))));
        }
        played = TimeSpan.FromTicks(ns / 100);
        return trials;
    }

    private static ClaimPlan Plan(Limit claim, IReadOnlyList<PlayedTrial> all, SequentialPlan? sequential)
    {
        PlayedTrial[] trials = [.. all.Where(t => t.Score.Counted)];
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
            UnitsWithShort = TrialUnit.Of(all).Count,
            Sequential = sequential,
            Test = sequential?.TestOf(claim),
        };
    }

    private static ClaimPlan Plan(Limit claim, IReadOnlyList<HeardStretch> heard)
    {
        var (units, sources, stretches, ns) = AlarmJudge.HeardIn(heard);
        double[] needed = [.. Enumerable.Range(0, MostFailures + 1)
            .Select(alarms => AlarmJudge.HoursFor(claim.AtMost!.Value, claim.Confidence!.Value, alarms))];
        return new(claim, PooledJudge.Text(claim), [], units, sources, stretches, null) { Hours = new(needed, ns / 3600e9) };
    }

    private static double Quantile(Statistic statistic) => statistic switch { Statistic.P50 => 0.5, Statistic.P90 => 0.9, Statistic.P95 => 0.95, _ => 0.99 };
}
