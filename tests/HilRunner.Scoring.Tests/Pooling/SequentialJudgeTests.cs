using HilRunner.Core.Scenarios;
using HilRunner.Core.Statistics;
using HilRunner.Scoring.Pooling;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Tests.Pooling;

public class SequentialJudgeTests
{
    private static readonly Limit s_claim = new(Measure.Recognised) { AtLeast = 0.8, Confidence = 0.9 };
    private static readonly SequentialPlan s_plan = new(0.95, 0.1, 60);

    [Test]
    public void RunsThatComeLaterChangeNothing()
    {
        int seed = Environment.TickCount;
        TestContext.Out.WriteLine($"seed {seed}");
        var random = new Random(seed);
        for (int i = 0; i < 300; i++)
        {
            // Several trials a run; units that come back in later runs, better or worse.
            var runs = Enumerable.Range(0, 70).Select(_ => (IReadOnlyList<PlayedTrial>)[.. Enumerable.Range(0, random.Next(0, 4)).Select(_ => Trial($"r{random.Next(60)}", random.NextDouble() < 0.9))]).ToList();
            PooledOutcome? decided = null;
            for (int n = 1; n <= runs.Count; n++)
            {
                var now = PooledJudge.Judge(s_claim, s_plan, [.. runs.Take(n)]).Single();
                Assert.That(now.Judged.Outcome, Is.EqualTo(SlowTwin([.. runs.Take(n)])));
                if (decided is not null) { Assert.That((now.Judged.Outcome, now.Course!.DecidedAt, now.Judged.Why), Is.EqualTo((decided.Judged.Outcome, decided.Course!.DecidedAt, decided.Judged.Why))); }
                if (now.Judged.Outcome != Outcome.Open) { decided ??= now; }
            }
        }
    }

    [Test]
    public void ItsRisksAreThoseOfThePlan([Values(0.8, 0.95)] double share)
    {
        int seed = Environment.TickCount;
        TestContext.Out.WriteLine($"seed {seed}");
        var random = new Random(seed);
        const int builds = 3_000;
        int accepted = 0, refused = 0;
        for (int build = 0; build < builds; build++)
        {
            var trials = Enumerable.Range(0, 60).Select(i => Trial($"r{i}", random.NextDouble() < share)).ToList();
            var outcome = PooledJudge.Judge(s_claim, s_plan, [.. trials.Select(t => (IReadOnlyList<PlayedTrial>)[t])]).Single().Judged.Outcome;
            if (outcome == Outcome.Held) { accepted++; }
            if (outcome == Outcome.Broken) { refused++; }
        }
        var exact = s_plan.TestOf(s_claim)!.At(1 - share);
        Assert.That(accepted + refused, Is.EqualTo(builds), "cut off, it decides");
        Assert.That(share == 0.8 ? exact.Accept : exact.Reject, Is.LessThanOrEqualTo(0.1), "as the plan promises");
        Assert.That(Binomial.AtLeast(accepted, builds, exact.Accept), Is.GreaterThan(1e-6), $"accepted {accepted}");
        Assert.That(Binomial.AtMost(accepted, builds, exact.Accept), Is.GreaterThan(1e-6), $"accepted {accepted}");
    }

    [Test]
    public void WhatIsUncertainNeitherAcceptsNorRefuses()
    {
        // Reaction 1 s ± 0.2 s, within 1.1 s.
        var unsure = Enumerable.Range(0, 60).Select(i => (IReadOnlyList<PlayedTrial>)[Trial($"r{i}", true, uncertaintyS: 0.2, withinS: 1.1)]).ToList();
        Assert.That(PooledJudge.Judge(s_claim, s_plan, unsure).Single().Judged.Outcome, Is.EqualTo(Outcome.Open));
        var sure = Enumerable.Range(0, 60).Select(i => (IReadOnlyList<PlayedTrial>)[Trial($"r{i}", true, uncertaintyS: 0.05, withinS: 1.1)]).ToList();
        Assert.That(PooledJudge.Judge(s_claim, s_plan, sure).Single().Judged.Outcome, Is.EqualTo(Outcome.Held));
    }

    [Test]
    public void WithoutTrialsOrWithTooFewItIsOpen()
    {
        Assert.That(PooledJudge.Judge(s_claim, s_plan, []).Single().Judged.Outcome, Is.EqualTo(Outcome.Open));
        var few = PooledJudge.Judge(s_claim, s_plan with { MostTrials = 3 }, [[Trial("r", true)]]).Single();
        Assert.That((few.Judged.Outcome, few.Course), Is.EqualTo((Outcome.Open, (SequentialCourse?)null)));
        Assert.That(few.Judged.Why, Does.StartWith("3 independent trials cannot keep both risks"));
        Assert.That(() => s_plan.TestOf(s_claim with { AtLeast = 0.96 }), Throws.ArgumentException);
        Assert.That(() => s_plan.TestOf(new(Measure.Reaction) { Statistic = Statistic.P95, AtMost = 1, Confidence = 0.9 }), Throws.ArgumentException);
    }

    /// <summary>Unit by unit, as a person with a list would do it.</summary>
    private static Outcome SlowTwin(List<IReadOnlyList<PlayedTrial>> runs)
    {
        var test = s_plan.TestOf(s_claim)!;
        var seen = new HashSet<string>();
        int n = 0, failures = 0;
        foreach (var run in runs)
        {
            foreach (string recording in run.Select(t => t.Motion.Recording).Distinct())
            {
                if (!seen.Add(recording)) { continue; }
                n++;
                if (run.Any(t => t.Motion.Recording == recording && !t.Score.Recognised)) { failures++; }
                var outcome = n > test.MostTrials ? SequentialOutcome.GoOn : test.Decide(n, failures);
                if (outcome != SequentialOutcome.GoOn) { return outcome == SequentialOutcome.Accept ? Outcome.Held : Outcome.Broken; }
            }
        }
        return Outcome.Open;
    }

    private static PlayedTrial Trial(string recording, bool recognised, double uncertaintyS = 0, double? withinS = null) =>
        new("", new(recording, 0, 10, null), new()
        {
            Class = "carried", StartNs = 0, EndNs = 10, Already = false, Missed = !recognised, Recognised = recognised, Counted = true,
            ReactionNs = recognised ? 1_000_000_000 : null, UncertaintyNs = recognised ? (long)(uncertaintyS * 1e9) : null,
        }, withinS is { } s ? (long)(s * 1e9) : null);
}
