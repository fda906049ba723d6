using Dapper;
using HilRunner.Core.Runs;
using HilRunner.History.Database;
using HilRunner.History.Database.Migrations;
using HilRunner.History.Reading;
using HilRunner.History.Recording;
using HilRunner.Scoring;
using HilRunner.Testing;
using static HilRunner.History.Tests.Batches;

namespace HilRunner.History.Tests;

/// <summary>Older histories are brought up to date where they stand, and say of what they hold that it is older.</summary>
[TestFixture(Kind.Sqlite)]
[TestFixture(Kind.Postgres)]
public class MigrationTests(Kind kind)
{
    [Test]
    public void AHistoryOfTheFirstSchemaKeepsWhatItHoldsAndIsTakenInAgain()
    {
        using var databases = new Databases(kind);
        Schema.Update(databases.Place, FirstSchema.Version);
        using (var connection = HistoryDatabase.Connect(databases.Place))
        {
            connection.Open();
            connection.Execute("insert into builds (label, sha256) values ('1.4.0', '')");
            connection.Execute("insert into rigs (name) values ('bench-1')");
            connection.Execute($"""
                insert into batches (key, name, build_id, started_ms, ended_ms, verdict, reason, planned, host, tool, folder)
                values ('{Batch(0).Key}', 'nightly', 1, {Night.ToUnixTimeMilliseconds()}, {Night.ToUnixTimeMilliseconds() + 1}, 'pass', 'every limit held', 1, 'bench', '0.1.0', '/runs/nightly-0')
                """);
            connection.Execute(
                "insert into runs (batch_id, rig_id, folder, scenario, motion, repeat, seed, speed, started_ms, verdict, counts) values (1, 1, '001', 's', 'm', 1, '1', 'max', 0, 'pass', 1)");
        }
        using var history = databases.Open();
        var older = HistoryReader.Newest(history, "nightly", 1).Single();
        Assert.That((older.Verdict, older.Reason, older.Runs, older.Definitions, older.DeliveryKnown, older.DeliveryNotShown),
            Is.EqualTo(("pass", "every limit held", 1, 1, 0, 0)));
        Assert.That(HistoryReader.Known(history), Is.EqualTo(new Dictionary<string, bool> { [Batch(0).Key] = false }),
            "to be taken in again: nobody asked by which definitions it was scored");

        HistoryWriter.Record(history, Batch(0, runs: [Run([true], delivery: Delivery.NothingShown) with { StoredSchema = 1 }]));
        var again = HistoryReader.Newest(history, "nightly", 1).Single();
        Assert.That((again.Definitions, again.DeliveryKnown, again.DeliveryNotShown),
            Is.EqualTo((1, 1, 1)), "its verdict is still that of then");
        Assert.That(HistoryReader.Known(history).Values, Is.EqualTo(new[] { true }));
    }

    [Test]
    public void DeliveryIsCountedOverTheRunsThatCount()
    {
        using var databases = new Databases(kind);
        using var history = databases.Open();
        HistoryWriter.Record(history, Batch(0, runs:
        [
            Run([true], "a", delivery: Delivery.NothingShown), Run([true], "b", delivery: Delivery.NotNeeded),
                Run([true], "c", counts: false, delivery: Delivery.NothingShown),
            Run([true], "d") with { Score = null, StoredSchema = 1, WhyLeftOut = "link.pcapng is missing", Counts = false },
        ]));
        var batch = HistoryReader.Newest(history, "nightly", 1).Single();
        Assert.That((batch.Runs, batch.DeliveryKnown, batch.DeliveryNotShown, batch.Definitions), Is.EqualTo((4, 2, 1, 1)));
        Assert.That(HistoryReader.Known(history).Values,
            Is.EqualTo(new[] { true }), "what cannot be scored again is not tried each time");
        HistoryWriter.Record(
            history, Batch(
                1, runs: [Run([true], delivery: Delivery.NothingShown),
                    Run([true], "never") with { Score = null, Counts = false }]));
        Assert.That(HistoryReader.Newest(history, "nightly", 1).Single().Definitions, Is.EqualTo(ScoreJson.Schema));
        Assert.That(HistoryReader.Known(history).Values, Has.All.True);
    }

    /// <summary>The file that a user of that time has.</summary>
    [Test]
    public void AFileOfThatTimeIsMigratedInPlace()
    {
        if (kind != Kind.Sqlite) { return; }
        using var folder = TestPaths.NewFolder();
        string file = folder.File("history.db");
        File.Copy(Path.Combine(TestPaths.Root, "tests", "Shared", "Fixtures", "schema1", "history.db"), file);
        using var history = HistoryDatabase.Open(new SqlitePlace(file));
        Assert.That(
            HistoryReader.Newest(history, "small suite", 5)
            .Select(b => (b.Label, b.Verdict, b.Runs, b.Definitions, b.DeliveryKnown)),
            Is.EqualTo(new[] { ("1.5.0", "fail", 2, 1, 0), ("1.4.0", "pass", 2, 1, 0) }));
        Assert.That(HistoryReader.Known(history).Values, Is.EqualTo(new[] { false, false, false }));
        Assert.That(HistoryReader.Figures(history, "small suite", 5), Has.Count.GreaterThan(20), "nothing of it is lost");
    }
}
