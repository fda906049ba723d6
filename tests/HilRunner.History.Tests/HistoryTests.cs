using CsCheck;
using Dapper;
using HilRunner.History.Database;
using HilRunner.History.Reading;
using HilRunner.History.Recording;
using HilRunner.Scoring;
using static HilRunner.History.Tests.Batches;

namespace HilRunner.History.Tests;

/// <summary>The same questions to both databases.</summary>
[TestFixture(Kind.Sqlite)]
[TestFixture(Kind.Postgres)]
public class HistoryTests(Kind kind)
{
    private Databases _databases = null!;
    private HistoryDatabase _history = null!;

    [SetUp]
    public void SetUp()
    {
        _databases = new(kind);
        _history = _databases.Open();
    }

    [TearDown]
    public void TearDown()
    {
        _history?.Dispose();
        _databases?.Dispose();
    }

    [Test]
    public void WhatIsTakenInIsListedNewestFirst()
    {
        Take(Batch(1, Verdict.Fail, "1.5.0", "bb", runs: [Run([true, false, true]), Run([true, true], "t")]), Batch(0, label: "1.4.2", runs: Run([true])), Batch(2, null, name: "other"));
        var batches = HistoryReader.Newest(_history, "nightly", 10);
        Assert.That(batches.Select(b => (b.Started, b.Verdict, b.Build, b.Runs, b.Folder, b.Reason)), Is.EqualTo(new[]
        {
            (Night.AddDays(1), "fail", "1.5.0", 2, "/runs/nightly-1", "reason of night 1"), (Night, "pass", "1.4.2", 1, "/runs/nightly-0", "reason of night 0"),
        }));
        Assert.That(HistoryReader.Newest(_history, "nightly", 1).Single().Label, Is.EqualTo("1.5.0"));
        Assert.That(HistoryReader.Suites(_history), Is.EqualTo(new[]
        {
            new SuiteEntry { Name = "other", Batches = 1, NewestMs = Night.AddDays(2).ToUnixTimeMilliseconds() }, new SuiteEntry { Name = "nightly", Batches = 2, NewestMs = Night.AddDays(1).ToUnixTimeMilliseconds() },
        }));
        var unended = HistoryReader.Newest(_history, "other", 1).Single();
        Assert.That((unended.Verdict, unended.Ended, unended.Build), Is.EqualTo(((string?)null, (DateTimeOffset?)null, (string?)null)));
        Assert.That(HistoryReader.Known(_history).Values.Order(), Is.EqualTo(new[] { false, true, true }));
    }

    [Test]
    public void AnEmptyHistoryAnswersEverything()
    {
        Assert.That(HistoryReader.Suites(_history), Is.Empty);
        Assert.That(HistoryReader.Newest(_history, "nightly", 5), Is.Empty);
        Assert.That(HistoryReader.Figures(_history, "nightly", 5), Is.Empty);
        Assert.That(HistoryReader.Known(_history), Is.Empty);
        Assert.That(HistoryReader.Flipped(_history, null, null), Is.Empty);
        Assert.That(HistoryReader.Good(_history, "nightly", new(null, null, null), 5), Is.Empty);
    }

    [Test]
    public void FiguresAreThoseOfTheRunsThatCount()
    {
        Take(Batch(0, runs: [Run([true, false, true, true], reactionNs: 400_000_000), Run([true], repeat: 2, reactionNs: 800_000_000), Run([false, false], "rig at fault", counts: false)]));
        var figures = HistoryReader.Figures(_history, "nightly", 1).ToDictionary(f => (f.Class, f.Measure, f.Statistic));
        Assert.That((figures[("", "recognised", "")].Value, figures[("", "recognised", "")].Trials), Is.EqualTo((0.8, 5)));
        Assert.That((figures[("b", "recognised", "")].Value, figures[("b", "recognised", "")].Trials), Is.EqualTo((0.5, 2)));
        Assert.That(figures[("a", "reaction", "p50")].Value, Is.EqualTo(0.4), "0.4, 0.4, 0.8");
        Assert.That(figures[("a", "reaction", "p95")].Value, Is.EqualTo(0.76).Within(1e-12), "type 7: 0.4 + 0.9 × 0.4");
        Assert.That(figures[("b", "reaction", "p95")].Value, Is.Null, "one of two never got there");
        // 50 s in all: 0.4 of three, all of one, 0.8 of one interval of 10 s are lost.
        Assert.That(figures[("", "accuracy", "")].Value, Is.EqualTo((50 - 3 * 0.4 - 10 - 0.8) / 50).Within(1e-12));
        Assert.That((figures[("", "device_resets", "")].Value, figures[("", "device_resets", "")].Trials), Is.EqualTo((0.0, 2)));
    }

    [Test]
    public void TakingInTwiceIsTheSameAsOnce()
    {
        var first = Batch(0, null, runs: Run([true, false]));
        Take(first, first, first with { Ended = Night.AddHours(1), Verdict = Verdict.Fail, Folder = "/moved", Runs = [Run([true, true]), Run([true], "t")] });
        var batch = HistoryReader.Newest(_history, "nightly", 10).Single();
        Assert.That((batch.Verdict, batch.Folder, batch.Runs), Is.EqualTo(("fail", "/moved", 2)));
        Assert.That((Count("runs"), Count("trials"), Count("builds"), Count("rigs")), Is.EqualTo((2, 3, 1, 1)));
        Assert.That(_history.Query<string>("select seed from runs").Distinct(), Is.EqualTo(new[] { "18446744073709551615" }));
    }

    [Test]
    public void TheLastGoodBuildIsTheNewestThatPassedOnAnotherImage()
    {
        Take(
            Batch(0, label: "1.0", image: "a0"), Batch(1, label: "1.1", image: "a1"), Batch(2, Verdict.Fail, "1.2", "a2"), Batch(3, null, "1.3", "a3"), Batch(4, label: "1.4", image: "a4"),
            Batch(5, label: "other", image: "a5", name: "another suite"));
        string[] Good(string? label, string? image) => [.. HistoryReader.Good(_history, "nightly", new(label, null, image), 10).Select(b => b.Label)];
        Assert.That(Good("1.5", "a5"), Is.EqualTo(new[] { "1.4", "1.1", "1.0" }), "what failed, or did not end, is not good");
        Assert.That(Good("1.4", "a4"), Is.EqualTo(new[] { "1.1", "1.0" }), "the same image is no other build");
        Assert.That(Good("1.4", "b4"), Is.EqualTo(new[] { "1.4", "1.1", "1.0" }), "the same label with another image is");
        Assert.That(Good("1.4", null), Is.EqualTo(new[] { "1.1", "1.0" }), "without an image the label decides");
        Assert.That(Good(null, null), Is.EqualTo(new[] { "1.4", "1.1", "1.0" }));
        Assert.That(HistoryReader.Good(_history, "never played", new(null, null, null), 10), Is.Empty);
    }

    [Test]
    public void ATrialIsFlakyOnlyOnOneImage()
    {
        Take(
            Batch(0, label: "1.0", image: "a", runs: [Run([true, true, false]), Run([true, false, false], repeat: 2)]),
            Batch(1, label: "1.1", image: "b", runs: [Run([false, true, false])]),
            Batch(2, label: "1.1", image: "b", runs: [Run([false, true, true], counts: false)]),
            Batch(3, label: "1.2", runs: [Run([true]), Run([false], repeat: 2)]));
        var flipped = HistoryReader.Flipped(_history, null, null).Single();
        Assert.That((flipped.Class, flipped.StartNs, flipped.Sha256, flipped.Plays, flipped.Recognised, flipped.Motion), Is.EqualTo(("b", 10_000_000_000, "a", 2, 1, "motion of s")));
        Assert.That(HistoryReader.Flipped(_history, "nightly", "a"), Has.Count.EqualTo(1));
        Assert.That(HistoryReader.Flipped(_history, "nightly", "b"), Is.Empty);
        Assert.That(HistoryReader.Flipped(_history, "another", null), Is.Empty);
    }

    [Test]
    public void WhatTheDeviceAnswersStandsInForAnImageThatWasNotGiven()
    {
        Take(Batch(0, label: "1.0", runs: [Run([true]) with { DeviceImage = "cafe" }]), Batch(1, label: "1.0", image: "file", runs: [Run([true]) with { DeviceImage = "cafe" }]));
        Assert.That(HistoryReader.Newest(_history, "nightly", 2).Select(b => b.Sha256), Is.EqualTo(new[] { "file", "cafe" }));
    }

    [Test]
    public void AWriteThatFailsLeavesWhatWasThere()
    {
        Take(Batch(0, runs: Run([true])));
        Assert.That(() => _history.Write(t => { _history.Connection.Execute("delete from batches", transaction: t); throw new InvalidDataException("a fault in the middle"); }), Throws.TypeOf<InvalidDataException>());
        Assert.That(Count("batches"), Is.EqualTo(1));
    }

    [Test]
    public void ManyWritersAtOnceLoseNothing()
    {
        using var fresh = new Databases(kind);
        const int writers = 4, each = 12;
        using var start = new Barrier(writers);
        // The first thing all of them do is to make the schema.
        var threads = Enumerable.Range(0, writers).Select(w => Task.Factory.StartNew(() =>
        {
            start.SignalAndWait();
            using var history = fresh.Open();
            for (int i = 0; i < each; i++)
            {
                HistoryWriter.Record(history, Batch(w * each + i, label: $"1.{i}", image: $"{i}", runs: [Run([true, i % 2 == 0, false], $"s{i}"), Run([true], $"t{w}")]));
                Assert.That(HistoryReader.Newest(history, "nightly", 1000), Has.Count.GreaterThan(i));
            }
        }, TaskCreationOptions.LongRunning)).ToArray();
        Task.WaitAll(threads);
        using var after = fresh.Open();
        Assert.That(HistoryReader.Newest(after, "nightly", 1000), Has.Count.EqualTo(writers * each));
        Assert.That(after.Query<long>("select count(*) from trials").Single(), Is.EqualTo(writers * each * 4));
        Assert.That(after.Query<long>("select count(*) from builds").Single(), Is.EqualTo(each), "each build once");
    }

    [Test]
    public void ANewerSchemaIsRefusedAndNotTouched()
    {
        _history.Connection.Execute($"insert into {VersionTable.Name} (version) values (99)");
        Assert.That(() => _databases.Open(), Throws.TypeOf<HistoryException>().With.Message.Contains("made by a newer version of hil (schema 99"));
    }

    /// <summary>Random batches; what is read back agrees with a count over what was taken in.</summary>
    [Test]
    public void FiguresAgreeWithASlowTwin()
    {
        var batches =
            from night in Gen.Int[0, 400]
            from image in Gen.Int[0, 2].Select(i => new[] { "", "a", "b" }[i])
            from runs in Gen.Select(Gen.Bool.Array[0, 6], Gen.Int[0, 2], Gen.Bool, (r, s, c) => (r, s, c)).Array[0, 4]
            select Batch(night, label: "l", image: image.Length > 0 ? image : null, runs: [.. runs.Select((r, i) => Run(r.r, $"s{r.s}", i + 1, r.c))]);
        batches.Array[1, 4].Sample(
            all =>
            {
                _history.Connection.Execute("delete from batches");
                foreach (var batch in all) { HistoryWriter.Record(_history, batch); }
                var kept = all.GroupBy(b => b.Key).Select(g => g.Last()).ToList();
                var stored = HistoryReader.Newest(_history, "nightly", 10);
                Assert.That(stored.Select(b => b.StartedMs), Is.EqualTo(kept.Select(b => b.Started.ToUnixTimeMilliseconds()).OrderDescending()));
                var figures = HistoryReader.Figures(_history, "nightly", 10);
                foreach (var batch in kept)
                {
                    long id = stored.Single(s => s.StartedMs == batch.Started.ToUnixTimeMilliseconds()).Id;
                    var trials = batch.Runs.Where(r => r.Counts).SelectMany(r => r.Score!.Outputs[0].Trials).ToList();
                    foreach (string name in (string[])["", "a", "b"])
                    {
                        var of = trials.Where(t => name.Length == 0 || t.Class == name).ToList();
                        var figure = figures.SingleOrDefault(f => f.BatchId == id && f.Measure == "recognised" && f.Class == name);
                        Assert.That(figure?.Trials ?? 0, Is.EqualTo(of.Count));
                        Assert.That(figure?.Value, Is.EqualTo(of.Count == 0 ? null : of.Count(t => t.Recognised) / (double)of.Count));
                    }
                }
                var flips = kept.Where(b => b.Build.Sha256 is not null)
                    .SelectMany(b => b.Runs.Where(r => r.Counts).SelectMany(r => r.Score!.Outputs[0].Trials.Where(t => t.Counted).Select(t => (b.Build.Sha256, r.Scenario, t.StartNs, t.Recognised))))
                    .GroupBy(t => (t.Sha256, t.Scenario, t.StartNs)).Where(g => g.Select(t => t.Recognised).Distinct().Count() == 2)
                    .Select(g => (g.Key, g.LongCount(), g.LongCount(t => t.Recognised)));
                Assert.That(HistoryReader.Flipped(_history, null, null).Select(f => ((f.Sha256, f.Scenario, f.StartNs), f.Plays, f.Recognised)), Is.EquivalentTo(flips));
            },
            iter: 60, threads: 1, print: b => string.Join(", ", b.Select(x => x.ToString())));
    }

    private void Take(params RecordedBatch[] batches)
    {
        foreach (var batch in batches) { HistoryWriter.Record(_history, batch); }
    }

    private long Count(string table) => _history.Query<long>($"select count(*) from {table}").Single();
}
