using System.Collections.Concurrent;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Engine.Tests.Truth;

/// <summary>
/// The tool's latencies held against what the virtual device was seen to do on the host's clock, through real parts: player, pty,
/// capture, review, scorer. Both ways: the stated interval must hold the truth, and must not be wider than the method allows.
/// </summary>
[Timing("latencies are held against the truth, run by run in real time")]
public class TruthTableTests
{
    private const ulong Seed = 20_261_125;
    /// <summary>So many runs go on at once: more would disturb each other's pacing on two cores.</summary>
    private const int AtOnce = 5;
    private const double Share = 0.99;
    private const double LeastProbability = 0.001;
    private const int LeastTrials = 2000;
    private const double NarrowRows = 0.8;
    private readonly List<TruthResult> _results = [];

    private static IEnumerable<TruthRow> Rows => TruthRow.Table.SelectMany(r => new[] { r, r with { Numbered = true } });

    [Test]
    public void TheTableHoldsEveryPairOfValues()
    {
        static IEnumerable<(int, object, int, object)> Pairs(object[] values) =>
            from i in Enumerable.Range(0, values.Length)
            from j in Enumerable.Range(i + 1, values.Length - i - 1)
            select (i, values[i], j, values[j]);
        object[][] rows = [.. TruthRow.Table.Select(r => r.Values)];
        object[][] columns = [.. Enumerable.Range(0, rows[0].Length).Select(c => rows.Select(r => r[c]).Distinct().ToArray())];
        var all = from i in Enumerable.Range(0, columns.Length)
                  from j in Enumerable.Range(i + 1, columns.Length - i - 1)
                  from a in columns[i]
                  from b in columns[j]
                  select (i, a, j, b);
        Assert.Multiple(() =>
        {
            Assert.That(columns.Select(c => c.Length), Is.EqualTo(new[] { 2, 3, 4, 3, 3, 2, 2 }), "every value");
            Assert.That(all.Except(rows.SelectMany(Pairs)), Is.Empty, "every pair");
        });
    }

    [OneTimeSetUp]
    public void PlayAllRows()
    {
        using var folder = TestPaths.NewFolder("truth");
        var clock = new HostClock(TimeProvider.System);
        // What is compiled at its first use is not to hold up a run that counts.
        new TruthRun(TruthRow.Table[0], folder.File("warm-up"), TimeSpan.FromSeconds(0.5), Seed, clock).Play();
        // The long ones first, so that all end together.
        var runs = Rows.OrderByDescending(Length)
            .Select((row, i) => new TruthRun(row, folder.File($"{i}"), Length(row), Seed + (ulong)i, clock))
            .ToList();
        var queue = new ConcurrentQueue<TruthRun>(runs);
        Task[] players = [.. Enumerable.Range(0, AtOnce).Select(_ => Task.Factory.StartNew(() =>
        {
            while (queue.TryDequeue(out TruthRun? run)) { run.Play(); }
        }, CancellationToken.None, TaskCreationOptions.LongRunning, TaskScheduler.Default))];
        Task.WaitAll(players);
        foreach (var run in runs)
        {
            Assert.That(run.End, Is.EqualTo(("completed", "")), $"{run.Row}");
            Assert.That(run.Counters.AnswersLost > 0, Is.EqualTo(run.Row.LoseAnswers > 0), $"{run.Row}: {run.Counters.AnswersLost} answers lost");
        }
        // Reviewed only now: what that allocates would hold up those that still play.
        _results.AddRange(runs.Select(r => r.Review()));
    }

    [Test]
    public void TheDecisionLatencyByTheDevicesClockHoldsTheTruth() =>
        AssertCovered(_results.Where(r => !r.Row.Numbered), TruthFigures.Decision);

    [Test]
    public void TheReportLatencyHoldsTheTruth() => AssertCovered(_results, TruthFigures.Report);

    [Test]
    public void ADecisionWithASampleNumberIsExactInStimulusTime()
    {
        var trials = _results.Where(r => r.Row.Numbered).SelectMany(r => r.Trials).ToList();
        Assert.That(trials, Has.Count.GreaterThanOrEqualTo(LeastTrials));
        Assert.That(trials.Select(t => (t.Trial.ReactionNs, t.Trial.UncertaintyNs)), Is.EqualTo(trials.Select(t => ((long?)t.SampleNs, (long?)0))));
    }

    /// <summary>
    /// Over all trials the median of width to what the method allows is at most 1; and so it is within most rows by themselves. A row
    /// in which this machine stalled is wide for good reason, and says nothing about the method.
    /// </summary>
    [Test]
    public void ItsIntervalsAreNoWiderThanTheMethodAllows()
    {
        foreach (var result in _results) { TestContext.Out.WriteLine(TruthFigures.Line(result)); }
        Assert.Multiple(() =>
        {
            AssertNarrow(_results.Where(r => !r.Row.Numbered).ToList(), TruthFigures.Decision);
            AssertNarrow(_results, TruthFigures.Report);
        });
    }

    [Test]
    public void TheRateOfTheDevicesClockIsInsideItsInterval()
    {
        var known = _results.Where(r => r.Evidence.Device.ClockPpm is not null).ToList();
        // Where the link takes 30 ms a few seconds cannot tell a good crystal from a bad one, and nothing is said.
        var direct = _results.Where(r => !r.Row.Numbered && r.Row is { LinkInMs: 0, LinkOutMs: 0, JitterMs: 0 }).ToList();
        Assert.That(direct, Is.Not.Empty.And.SubsetOf(known), "known where the link takes no time");
        var wrong = known.Where(r => !(Math.Abs(r.Evidence.Device.ClockPpm!.Value - r.Row.SkewPpm) <= r.Evidence.Device.ClockPpmUncertainty)).ToList();
        foreach (var result in wrong) { TestContext.Out.WriteLine(TruthFigures.Line(result)); }
        TestContext.Out.WriteLine($"rate: {known.Count - wrong.Count} of {known.Count} inside; seed {Seed}");
        Assert.That(Binomial.AtMost(known.Count - wrong.Count, known.Count, 0.999), Is.GreaterThan(LeastProbability));
    }

    /// <summary>How long a row is played: long where trials are short and many, short where few fit in any time that there is.</summary>
    private static TimeSpan Length(TruthRow row) => TimeSpan.FromSeconds(row switch
    {
        { Numbered: true } => 3,
        { ThinkMs: > 100 } => 7,
        { RateHz: 800, ThinkMs: 0 } => 20,
        _ => 12,
    });

    private static void AssertNarrow(List<TruthResult> results, LatencyKind kind)
    {
        double[] shares = [.. results.SelectMany(r => r.Trials.Select(t => (double)(2 * kind.HalfWidth(t.Trial) ?? long.MaxValue) / TruthFigures.WidestNs(r))).Order()];
        int narrow = results.Count(r => TruthFigures.MedianWidthNs(r, kind) <= TruthFigures.WidestNs(r));
        TestContext.Out.WriteLine(FormattableString.Invariant(
            $"{kind.Name}: median width {shares[shares.Length / 2]:0.00} of what is allowed, over {shares.Length} trials; {narrow} of {results.Count} rows within it; seed {Seed}"));
        Assert.That(shares[shares.Length / 2], Is.LessThanOrEqualTo(1), kind.Name);
        Assert.That(narrow, Is.GreaterThanOrEqualTo(NarrowRows * results.Count), $"{kind.Name}: rows within it");
    }

    private static void AssertCovered(IEnumerable<TruthResult> results, LatencyKind kind)
    {
        int count = 0;
        int covered = 0;
        foreach (var result in results)
        {
            count += result.Trials.Count;
            covered += result.Trials.Count(kind.Covers);
            foreach (var trial in result.Trials.Where(t => !kind.Covers(t))) { TestContext.Out.WriteLine($"{result.Row}: {TruthFigures.Line(trial, kind)}"); }
        }
        double probability = Binomial.AtMost(covered, count, Share);
        TestContext.Out.WriteLine(FormattableString.Invariant($"{kind.Name}: {covered} of {count} intervals hold the truth, P = {probability:0.######}; seed {Seed}"));
        Assert.That(count, Is.GreaterThanOrEqualTo(LeastTrials));
        Assert.That(probability, Is.GreaterThan(LeastProbability), $"{covered} of {count} intervals hold the truth");
    }
}
