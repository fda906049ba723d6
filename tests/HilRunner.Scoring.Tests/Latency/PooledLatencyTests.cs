using CsCheck;

namespace HilRunner.Scoring.Tests.Latency;

[TestFixture]
internal sealed class PooledLatencyTests
{
    [Test]
    public void OneRunPooledIsThatRun() => RandomInput.Any.Sample(input =>
    {
        var score = Inputs.One(input);
        Assert.That(PooledLatency.Reaction([score]), Is.EqualTo(score.Reaction));
        Assert.That(PooledLatency.Report([score]), Is.EqualTo(score.Report));
    }, iter: 1_000);

    /// <summary>Twice the same trials, of one more run: sizes add up, and the statistics are those of the definition over all of them.</summary>
    [Test]
    public void SeveralRunsAreOneSample() => Gen.Select(RandomInput.Any, RandomInput.Any).Sample((first, second) =>
    {
        OutputScore[] runs = [Inputs.One(first), Inputs.One(second), Inputs.One(second)];
        foreach (var (c, pooled) in PooledLatency.Reaction(runs))
        {
            double[] sorted = [.. runs.SelectMany(r => r.Trials).Where(t => t.Class == c && t.Counted && !t.Already).Select(t => t.ReactionNs ?? double.PositiveInfinity).Order()];
            Assert.That((pooled.N, pooled.Missed), Is.EqualTo((sorted.Length, sorted.Count(double.IsInfinity))));
            Assert.That(pooled.Already, Is.EqualTo(runs.Sum(r => r.Trials.Count(t => t.Class == c && t.Counted && t.Already))));
            if (sorted.Length == 0) { continue; }
            double[] expected = [.. new[] { 0.5, 0.9, 0.95, 0.99, 1 }.Select(p => TickByTick.Quantile(sorted, p) / 1e9)];
            double?[] given = [pooled.P50, pooled.P90, pooled.P95, pooled.P99, pooled.Max];
            foreach (var (g, e) in given.Zip(expected)) { Assert.That(g!.Value, double.IsInfinity(e) ? Is.EqualTo(e) : Is.EqualTo(e).Within(1e-15)); }
        }
    }, iter: 1_000);

    [Test]
    public void ARunThatKnowsNoReportLatencySaysNothingOfMissedTrialsEither()
    {
        var known = Inputs.One(Inputs.Input(20, [Inputs.Ref(0, 10, "a"), Inputs.Ref(10, 20, "b")], [Inputs.Says(1, "a") with { ArrivalNs = Inputs.Ns(1.5) }]) with
        {
            Rate = new(1_000),
            Playout = [new(0, 0, 0)],
        });
        var unknown = Inputs.One(Inputs.Input(20, [Inputs.Ref(0, 10, "a"), Inputs.Ref(10, 20, "b")], [Inputs.Says(1, "a")]));
        Assert.That((known.Report["b"].N, unknown.Report["b"].N), Is.EqualTo((1, 0)));
        var pooled = PooledLatency.Report([known, unknown]);
        Assert.That((pooled["a"].N, pooled["a"].Max, pooled["b"].N, pooled["b"].Missed), Is.EqualTo((1, (double?)1.5, 1, 1)));
    }
}
