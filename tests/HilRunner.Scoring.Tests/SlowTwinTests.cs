using CsCheck;
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
            Assert.That(t.Recognised, Is.EqualTo(t.ReactionNs <= input.Rules.WithinNs));
            Assert.That(t.Counted, Is.EqualTo(t.Recognised || t.EndNs - t.StartNs >= input.Rules.WithinNs));
        }
        Assert.That(score.Trials.Where(t => t.IsEvent).Select(t => t.StartNs), Is.EqualTo(new TickByTick(input).EventStarts()));
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
