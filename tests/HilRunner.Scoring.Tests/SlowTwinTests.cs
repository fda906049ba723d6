using CsCheck;
using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Latency;

namespace HilRunner.Scoring.Tests;

/// <summary>The scorer against its tick-by-tick twin, and the sums that must hold. A failing sample prints its seed.</summary>
[TestFixture]
internal sealed class SlowTwinTests
{
    private const int Samples = 4_000;

    [Test]
    public void Agreement() => RandomInput.Any.Sample(input =>
    {
        var score = Inputs.One(input);
        var twin = new TickByTick(input);
        Assert.That(Cells(score.Strict), Is.EquivalentTo(twin.Confusion(0)));
        Assert.That(Cells(score.Graced), Is.EquivalentTo(twin.Confusion(input.Rules.GraceNs)));
        Assert.That(score.Strict.ScoredNs, Is.EqualTo(twin.Reference.Count(r => r is not null)));
        Assert.That(score.Strict.PerClass.Keys, Is.EqualTo(twin.Reference.OfType<string>().Distinct().Order(StringComparer.Ordinal)));
    }, iter: Samples);

    [Test]
    public void Trials() => RandomInput.Any.Sample(input =>
    {
        var score = Inputs.One(input);
        var twin = new TickByTick(input).Trials();
        var states = score.Trials.Where(t => !t.IsEvent).ToList();
        Assert.That(
            states.Select(t => new TickByTick.State(t.Class, (int)t.StartNs, (int)t.EndNs, t.ReactionNs, t.SettlingNs, t.Dropouts, t.Chatter)),
            Is.EqualTo(twin));
        foreach (var t in states)
        {
            Assert.That(t.Already, Is.EqualTo(t.ReactionNs == 0));
            Assert.That(t.Missed, Is.EqualTo(t.ReactionNs is null));
            Assert.That(t.HoldOpen, Is.EqualTo(new TickByTick(input).HoldIsOpen(twin.Single(s => s.Start == t.StartNs))));
            Assert.That(t.Recognised, Is.EqualTo(t.ReactionNs <= input.Rules.WithinNs));
            Assert.That(t.Counted, Is.EqualTo(t.EndNs - t.StartNs >= input.Rules.WithinNs + input.Rules.HoldNs));
        }
        Assert.That(score.Trials.Where(t => t.IsEvent).Select(t => t.StartNs), Is.EqualTo(new TickByTick(input).EventStarts()));
    }, iter: Samples);

    [Test]
    public void Uncertainties() => RandomInput.Any.Sample(input =>
    {
        var states = Inputs.One(input).Trials.Where(t => !t.IsEvent);
        Assert.That(
            states.Select(t => new TickByTick.Timing(t.UncertaintyNs, t.ReportLatencyNs, t.ReportUncertaintyNs)),
            Is.EqualTo(new TickByTick(input).Timings()));
    }, iter: Samples);

    /// <summary>However the true latencies lie within their half-widths, no statistic is farther from the truth than the summary's half-width.</summary>
    [Test]
    public void ASummarysUncertaintyBoundsEachStatistic() => Gen.Select(RandomInput.Any, Gen.Int).Sample((input, seed) =>
    {
        var random = new Random(seed);
        var score = Inputs.One(input);
        foreach (var (c, s) in score.Reaction) { Check(s, c, t => t.ReactionNs, t => t.UncertaintyNs); }
        foreach (var (c, s) in score.Settling) { Check(s, c, t => t.SettlingNs, t => t.UncertaintyNs); }
        if (input.Playout.Count > 0)
        {
            foreach (var (c, s) in score.Report) { Check(s, c, t => t.Missed ? null : t.ReportLatencyNs ?? double.NaN, t => t.ReportUncertaintyNs); }
        }

        void Check(LatencySummary summary, string c, Func<TrialScore, double?> latency, Func<TrialScore, long?> uncertainty)
        {
            var samples = score.Trials.Where(t => t.Class == c && t.Counted && !t.Already)
                .Select(t => (Ns: latency(t) ?? double.PositiveInfinity, U: uncertainty(t))).Where(s => !double.IsNaN(s.Ns)).ToList();
            Assert.That(summary.N, Is.EqualTo(samples.Count));
            var reached = samples.Where(s => double.IsFinite(s.Ns)).ToList();
            long? expected = reached.Count == 0 || reached.Any(s => s.U is null) ? null : reached.Max(s => s.U);
            Assert.That(summary.UncertaintyNs, Is.EqualTo(expected), c);
            if (expected is not { } bound) { return; }
            double[] truth = [.. samples.Select(s => s.Ns + (s.U ?? 0) * random.Next(-1, 2)).Order()];
            double?[] given = [summary.P50, summary.P90, summary.P95, summary.P99, summary.Max, summary.Mean];
            double[] true7 = [.. new[] { 0.5, 0.9, 0.95, 0.99, 1 }.Select(p => TickByTick.Quantile(truth, p)), truth.Average()];
            foreach (var (g, t) in given.Zip(true7))
            {
                Assert.That(double.IsFinite(g!.Value), Is.EqualTo(double.IsFinite(t)));
                if (double.IsFinite(t)) { Assert.That(Math.Abs(g.Value * 1e9 - t), Is.LessThanOrEqualTo(bound + 1e-6)); }
            }
        }
    }, iter: Samples);

    [Test]
    public void TheClocksRate() => Gen.Select(Gen.Int[-900, 900].Nullable(), Gen.Int[0, 300].Nullable(), Gen.Int[0, 900]).Sample((ppm, u, most) =>
    {
        var score = Scorer.Score(Inputs.Input(10, [], [], new() { Limits = [new(Measure.DeviceClockPpm) { AtMost = most }] }) with
        {
            Device = new(0, 0, ppm) { ClockPpmUncertainty = u },
            Timing = new() { Exchanges = 8 },
        });
        // Every true rate that the interval leaves open, ppm by ppm.
        bool[] held = ppm is null || u is null ? [true, false] : [.. Enumerable.Range(ppm.Value - u.Value, 2 * u.Value + 1).Select(r => Math.Abs(r) <= most).Distinct()];
        var expected = held.Length > 1 ? Outcome.Open : held[0] ? Outcome.Held : Outcome.Broken;
        Assert.That(score.Limits[0].Outcome, Is.EqualTo(expected));
    }, iter: Samples);

    [Test]
    public void Changes() => RandomInput.Any.Sample(input =>
    {
        var score = Inputs.One(input);
        var (observed, reference, dwells) = new TickByTick(input).Changes();
        dwells.Sort();
        int chatter = score.Trials.Sum(t => t.Chatter ?? 0);
        long scored = score.Strict.ScoredNs;
        Assert.That(score.Changes, Is.EqualTo(new ChangeScore(
            observed, reference, observed - reference, dwells.Count == 0 ? null : dwells[0], Quantile.Type7(dwells.ToArray(), 50),
            scored == 0 ? null : chatter * 60e9 / scored, scored == 0 ? null : (observed - reference) * 60e9 / scored)));
    }, iter: Samples);

    [Test]
    public void Segments() => RandomInput.Any.Sample(input =>
    {
        var score = Inputs.One(input);
        var twin = new TickByTick(input);
        foreach (var (c, segments) in score.Segments) { Assert.That(segments, Is.EqualTo(twin.Segments(c)), c); }
        var seen = twin.Reference.Zip(twin.Observed).Where(p => p.First is not null).SelectMany(p => new[] { p.First!, p.Second });
        Assert.That(score.Segments.Keys, Is.EqualTo(seen.Where(c => c != "(none)").Distinct().Order(StringComparer.Ordinal)));
    }, iter: Samples);

    [Test]
    public void TheSumsHold() => RandomInput.Any.Sample(input =>
    {
        var score = Inputs.One(input);
        var cells = Cells(score.Strict);
        Assert.That(cells.Values.Sum(), Is.EqualTo(score.Strict.ScoredNs), "the matrix holds all scored time");
        foreach (var (c, segments) in score.Segments)
        {
            var t = segments.TimeNs;
            long row = cells.Where(k => k.Key.Item1 == c).Sum(k => k.Value);
            long column = cells.Where(k => k.Key.Item2 == c).Sum(k => k.Value);
            Assert.That(t.TruePositive, Is.EqualTo(cells.GetValueOrDefault((c, c))));
            Assert.That(t.TruePositive + t.Deletion + t.Fragmentation + t.UnderfillStart + t.UnderfillEnd, Is.EqualTo(row), "what was expected");
            Assert.That(t.TruePositive + t.Insertion + t.Merge + t.OverfillStart + t.OverfillEnd, Is.EqualTo(column), "what was observed");
            Assert.That(segments.Observed.Correct, Is.EqualTo(segments.Reference.Correct), "correct ones meet each other alone");
        }
        foreach (var (c, e) in score.Events)
        {
            var trials = score.Trials.Where(t => t.Class == c).ToList();
            Assert.That(e.Hits + e.Misses, Is.EqualTo(trials.Count));
            Assert.That(e.Hits, Is.EqualTo(trials.Count(t => t.Recognised)));
            Assert.That(e.Hits + e.FalseAlarms, Is.EqualTo(input.Decisions.Count(d => d.Class == c && d.Time.Ns >= 0 && d.Time.Ns < input.End.Ns)));
        }
    }, iter: Samples);

    [Test]
    public void TheOrderOfTheReferenceDoesNotMatter() => RandomInput.Any.Sample(input =>
        ScoreJson.ToText(Scorer.Score(input)) == ScoreJson.ToText(Scorer.Score(input with { Reference = [.. input.Reference.Reverse()] })), iter: 500);

    private static Dictionary<(string, string), long> Cells(Agreement agreement) => agreement.ConfusionNs
        .SelectMany(r => r.Value.Select(c => ((r.Key, c.Key), c.Value))).ToDictionary(p => p.Item1, p => p.Value);
}
