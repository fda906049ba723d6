using HilRunner.Core.Scenarios;
using HilRunner.Core.Statistics;
using HilRunner.Scoring.Pooling;

namespace HilRunner.Scoring.Tests.Pooling;

public class PooledJudgeTests
{
    private static readonly Limit s_share = new(Measure.Recognised) { Class = "carried", AtLeast = 0.9, Confidence = 0.9 };
    private static readonly Limit s_latency = new(Measure.Reaction) { Class = "carried", Statistic = Statistic.P95, AtMost = 2, Confidence = 0.95 };

    // The success run: 22 trials without a failure show 90 % at 90 %, 21 do not.
    [TestCase(22, 22, Outcome.Held, "22 of 22 independent trials recognised: shows at least 0.9 at 90 %")]
    [TestCase(21, 21, Outcome.Open, "21 of 21 independent trials recognised: shows at least 0.896 at 90 %; 22 with no failures would do")]
    [TestCase(21, 20, Outcome.Open, "20 of 21 independent trials recognised: shows at least 0.827 at 90 %; 38 with as many as these 1 failure would do")]
    [TestCase(22, 16, Outcome.Broken, "16 of 22 independent trials recognised: shows at most 0.85 at 90 %")]
    [TestCase(0, 0, Outcome.Open, "no trial of carried is counted")]
    public void ASharesOutcomeFollowsFromItsBounds(int n, int recognised, Outcome outcome, string why)
    {
        var pooled = PooledJudge.Judge(s_share, [.. Enumerable.Range(0, n).Select(i => Trial($"r{i}", i < recognised))]).Single();
        Assert.That((pooled.Judged.Outcome, pooled.Judged.Why), Is.EqualTo((outcome, why)));
        Assert.That(pooled.Shown, Is.EqualTo(BinomialBounds.Lower(recognised, n, 0.9)));
        Assert.That(pooled.Judged.Figure, Is.EqualTo(n == 0 ? null : (double?)recognised / n));
    }

    /// <summary>What is printed claims no more than what is known.</summary>
    [Test]
    public void ABoundIsRoundedAwayFromItsClaim()
    {
        for (int n = 1; n <= 120; n++)
        {
            for (int recognised = Math.Max(0, n - 9); recognised <= n; recognised++)
            {
                var pooled = PooledJudge.Judge(s_share, [.. Enumerable.Range(0, n).Select(i => Trial($"r{i}", i < recognised))])
                    .Single();
                var shown = System.Text.RegularExpressions.Regex.Match(pooled.Judged.Why, @"shows at (least|most) ([\d.]+) at");
                Assert.That(shown.Success, pooled.Judged.Why);
                double said = double.Parse(shown.Groups[2].Value, System.Globalization.CultureInfo.InvariantCulture);
                bool least = shown.Groups[1].Value == "least";
                double known = least ? BinomialBounds.Lower(recognised, n, 0.9)!.Value
                    : BinomialBounds.Upper(recognised, n, 0.9)!.Value;
                Assert.That(least ? known - said : said - known, Is.InRange(-1e-14, 0.001), $"{recognised} of {n}");
            }
        }
    }

    [Test]
    public void RepeatsOfARecordingProveNothing()
    {
        var pooled = PooledJudge.Judge(s_share, [.. Enumerable.Range(0, 500).Select(_ => Trial("one", true))]).Single();
        Assert.That((pooled.Units, pooled.Plays, pooled.Judged.Outcome), Is.EqualTo((1, 500, Outcome.Open)));
        Assert.That(pooled.Shown, Is.EqualTo(0.1).Within(1e-12));
    }

    [Test]
    public void SixPeopleAreSixTrialsHoweverOftenTheyWalked()
    {
        var pooled = PooledJudge.Judge(s_share with { AtLeast = 0.65 }, [.. Enumerable.Range(0, 90).Select(i => Trial($"r{i}", true, source: $"person {i % 6}"))]).Single();
        Assert.That((pooled.Units, pooled.Sources, pooled.Judged.Outcome), Is.EqualTo((6, 6, Outcome.Held)));
        Assert.That(pooled.Shown, Is.EqualTo(Math.Pow(0.1, 1.0 / 6)).Within(1e-12));
        Assert.That(pooled.Rule, Is.EqualTo("one per source that the side files name"));
    }

    [Test]
    public void AUnitCountsAsItsWorstPlayForTheClaimAndAsItsBestAgainstIt()
    {
        // Every unit flips: nothing is shown either way.
        var trials = Enumerable.Range(0, 40).SelectMany(i => new[] { Trial($"r{i}", true), Trial($"r{i}", false) }).ToList();
        var pooled = PooledJudge.Judge(s_share, trials).Single();
        Assert.That((pooled.Units, pooled.UnitsRecognised, pooled.PlaysRecognised, pooled.Shown, pooled.Judged.Outcome), Is.EqualTo((40, 0, 40, 0.0, Outcome.Open)));
    }

    [Test]
    public void StretchesThatOverlapAreOne()
    {
        PlayedTrial[] trials = [Trial("r", true, from: 0, to: 10), Trial("r", true, from: 20, to: 30), Trial("r", true, from: 9, to: 12), Trial("r", true, from: 12, to: 20), Trial("q", true, from: 0, to: 10)];
        Assert.That(PooledJudge.Judge(s_share, trials).Single().Units, Is.EqualTo(4), "0–12, 12–20, 20–30 of one recording, and the other");
    }

    [Test]
    public void UncertainTimingCountsAgainstTheClaimOnly()
    {
        // Reaction 1 s ± 0.2 s, within 1.1 s: recognised, but not surely.
        var trials = Enumerable.Range(0, 30).Select(i => Trial($"r{i}", true, reactionS: 1, uncertaintyS: 0.2, withinS: 1.1)).ToList();
        var pooled = PooledJudge.Judge(s_share, trials).Single();
        Assert.That((pooled.Judged.Outcome, pooled.Shown), Is.EqualTo((Outcome.Open, 0.0)));
        Assert.That(pooled.Judged.Why, Does.StartWith("30 of 30 independent trials recognised (0 beyond the uncertainty of their timing)"));
    }

    // Order statistics: 59 values bound a 95 % quantile at 95 % by their largest, 93 by the second largest.
    [TestCase(59, 0, 1.9, Outcome.Held, "59 independent trials: show p95 at most 1.9 s at 95 %")]
    [TestCase(58, 0, 1.9, Outcome.Open, "58 independent trials: too few to bound p95 at 95 %, which takes 59")]
    [TestCase(59, 1, 1.9, Outcome.Open, "59 independent trials: show p95 no bound, as too many were missed at 95 %")]
    [TestCase(93, 1, 1.9, Outcome.Held, "93 independent trials: show p95 at most 1.9 s at 95 %")]
    [TestCase(59, 0, 2.1, Outcome.Broken, "59 independent trials: show p95 at least 2.1 s at 95 %")]
    public void ALatencysOutcomeFollowsFromOrderStatistics(int n, int missed, double slowestS, Outcome outcome, string why)
    {
        var trials = Enumerable.Range(0, n).Select(i => i < missed ? Trial($"r{i}", false) : Trial($"r{i}", true, reactionS: slowestS > 2 ? slowestS : i == n - 1 ? slowestS : 1 + i * 0.001)).ToList();
        if (missed == 1 && outcome == Outcome.Held) { trials[^2] = Trial($"r{n - 2}", true, reactionS: slowestS); }
        var pooled = PooledJudge.Judge(s_latency, trials).Single();
        Assert.That((pooled.Judged.Outcome, pooled.Judged.Why), Is.EqualTo((outcome, why)));
    }

    [Test]
    public void ReportLatenciesThatAreNotKnownLeaveTheLimitOpen()
    {
        var pooled = PooledJudge.Judge(s_latency with { Measure = Measure.ReportLatency }, [Trial("r", true)]).Single();
        Assert.That((pooled.Judged.Outcome, pooled.Judged.Why), Is.EqualTo((Outcome.Open, "the report latency of 1 trial is not known")));
    }

    [Test]
    public void EachOutputIsJudgedOnItsOwn()
    {
        var trials = Enumerable.Range(0, 22).SelectMany(i => new[] { Trial($"r{i}", true) with { Output = "a" }, Trial($"r{i}", false) with { Output = "b" } }).ToList();
        Assert.That(PooledJudge.Judge(s_share, trials).Select(p => (p.Judged.Output, p.Judged.Outcome)), Is.EqualTo(new[] { ("a", Outcome.Held), ("b", Outcome.Broken) }));
        Assert.That(PooledJudge.Judge(s_share with { Output = "b" }, trials).Select(p => p.Judged.Outcome), Is.EqualTo(new[] { Outcome.Broken }));
    }

    [Test]
    public void WhatHasNoTrialsTakesNoConfidence() =>
        Assert.That(() => PooledJudge.Judge(new(Measure.Accuracy) { AtLeast = 0.9, Confidence = 0.9 }, []), Throws.ArgumentException);

    /// <summary>One more play of what was played already, however it comes out, never widens what is shown; and the order of plays does not matter.</summary>
    [Test]
    public void RepeatsNeverNarrowABound()
    {
        int seed = Environment.TickCount;
        TestContext.Out.WriteLine($"seed {seed}");
        var random = new Random(seed);
        for (int round = 0; round < 300; round++)
        {
            var trials = Enumerable.Range(0, random.Next(1, 60)).Select(_ => Any(random)).ToList();
            var played = trials[random.Next(trials.Count)];
            var again = Any(random) with { Motion = played.Motion };
            foreach (var limit in (Limit[])[s_share, s_latency with { Statistic = Statistic.P50 }])
            {
                var before = PooledJudge.Judge(limit, trials).Single();
                Assert.That(PooledJudge.Judge(limit, [.. trials.OrderBy(_ => random.Next())]).Single(), Is.EqualTo(before));
                Assert.That(After(limit).Units, Is.EqualTo(before.Units));
                if (limit == s_share) { Assert.That(After(limit).Shown!.Value, Is.LessThanOrEqualTo(before.Shown!.Value), $"seed {seed}, round {round}"); }
                else if (before.Shown is { } shown) { Assert.That(After(limit).Shown!.Value, Is.GreaterThanOrEqualTo(shown), $"seed {seed}, round {round}"); }
            }

            PooledOutcome After(Limit limit) => PooledJudge.Judge(limit, [.. trials, again]).Single();
        }
    }

    private static PlayedTrial Any(Random random)
    {
        int recording = random.Next(20);
        return Trial($"r{recording}", random.Next(8) > 0, source: recording % 3 == 0 ? $"s{recording % 5}" : null, reactionS: Math.Round(random.NextDouble() * 3, 1));
    }

    private static PlayedTrial Trial(
        string recording, bool recognised, string? source = null, long from = 0, long to = 10, double reactionS = 1, double uncertaintyS = 0, double? withinS = null) =>
        new("", new(recording, from, to, source), new()
        {
            Class = "carried", StartNs = 0, EndNs = 10_000_000_000, Already = false, Missed = !recognised, Recognised = recognised, Counted = true,
            ReactionNs = recognised ? (long)(reactionS * 1e9) : null, UncertaintyNs = (long)(uncertaintyS * 1e9),
        }, withinS is { } w ? (long)(w * 1e9) : null);
}
