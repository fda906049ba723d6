using HilRunner.Application.Accepting;
using HilRunner.Application.Histories;
using HilRunner.Application.Runs;
using HilRunner.Application.Stored;
using HilRunner.Cli;
using HilRunner.Core.Files;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Shakers;
using HilRunner.Core.Time;
using HilRunner.Engine.Reviewing;
using HilRunner.Fuzz.Tests.Running;
using HilRunner.History;
using HilRunner.History.Reading;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Fuzz.Tests.Readers;

/// <summary>What the tool itself keeps and reads again: anyone may have sent the folder.</summary>
internal static class StoredReaders
{
    private static readonly string[] s_written =
        [RunFiles.Decisions, RunFiles.Score, RunFiles.Report, RunFiles.Marks, RunFiles.Expected];

    public static IReadOnlyList<Reader> All { get; } =
    [
        Run("run.yaml", Form.Yaml, RunFiles.Manifest),
        Run("capture", Form.PcapNg, RunFiles.Capture),
        new("capture alone", Form.PcapNg,
            stock => [File.ReadAllBytes(Path.Combine(stock.Run, RunFiles.Capture))], (stock, folder) =>
        {
            var run = RunConclusion.Review(Composition.Context, stock.Run, AdapterLeave.None);
            var rig = RigFile.Parse(run.Manifest.Rig.Text, run.Manifest.Rig.Path);
            var format = Composition.Context.Formats.Create(rig.Device);
            string path = Path.Combine(folder, RunFiles.Capture);
            return bytes =>
            {
                File.WriteAllBytes(path, bytes);
                using var capture = Composition.Context.Captures.Open(path);
                _ = CaptureReview.Read(rig, run.Manifest, run.Playout, format, capture);
            };
        }),
        Run("playout", Form.Table, RunFiles.Playout),
        Run("stimulus", Form.Table, RunFiles.Stimulus),
        new("marks", Form.Table, _ => [DocumentReaders.Utf8("step,kind,at_s,host_unix_ns\n"), Marks()], (stock, folder) =>
        {
            Copy(stock.Run, folder);
            string path = Path.Combine(folder, RunFiles.Marks), manifest = Path.Combine(folder, RunFiles.Manifest);
            const string scenario =
                "scenario: by hand\nstimulus:\n  - prompt: {say: leave it, for: 2 s, class: resting}\n  - prompt: {say: carry it, for: 1 s, class: carried}\nwithin: 1 s\n";
            var run = RunManifestFile.Read(manifest);
            RunManifestFile.Write(
                manifest, run with { ByHand = true, ExpectedSha256 = null,
                    Scenario = new(run.Scenario.Path, FileHash.Sha256OfText(scenario), scenario) });
            return bytes =>
            {
                File.WriteAllBytes(path, bytes);
                _ = RunConclusion.Review(Composition.Context, folder, AdapterLeave.None);
            };
        }),
        Tables("expected", RunFiles.Expected, path => Score(ExpectedFile.Read(path), [])),
        Tables("decisions", RunFiles.Decisions, path => Score([], DecisionsFile.Read(path))),
        new("score.json", Form.Json, stock => [File.ReadAllBytes(Path.Combine(stock.Run, RunFiles.Score))], (stock, folder) =>
        {
            // As a history takes it in, and a comparison.
            string batch = Path.Combine(folder, "batch"), run = Path.Combine(batch, "001");
            Copy(stock.Run, run);
            File.Copy(Path.Combine(stock.Batch, "batch.json"), Path.Combine(batch, "batch.json"));
            return bytes =>
            {
                File.WriteAllBytes(Path.Combine(run, RunFiles.Score), bytes);
                _ = RecordedFolder.Read(Composition.Context, batch);
                _ = Application.Comparing.ComparedBuild.Read(Composition.Context, batch, folder);
            };
        }),
        new("batch.json", Form.Json, stock => [File.ReadAllBytes(Path.Combine(stock.Batch, "batch.json"))], (stock, folder) =>
        {
            string batch = Path.Combine(folder, "batch"), run = Path.Combine(batch, "001");
            Copy(stock.Run, run);
            var runs = StoredBatch.Runs([RunConclusion.Review(Composition.Context, run, AdapterLeave.None).WithoutCurves()]);
            return bytes =>
            {
                File.WriteAllBytes(Path.Combine(batch, "batch.json"), bytes);
                _ = BatchConclusion.Conclude(Composition.Context, BatchRecord.Read(batch), runs, batch, AdapterLeave.None);
                _ = RecordedFolder.Read(Composition.Context, batch);
            };
        }),
        new("plan.lock", Form.Json, _ => [Lock()], (stock, folder) => bytes =>
        {
            File.WriteAllBytes(Path.Combine(folder, "plan.lock"), bytes);
            _ = PlanLock.Read(folder).Deviations([], early: false).ToList();
        }),
        new("sweep.json", Form.Json,
            stock => [File.ReadAllBytes(Path.Combine(stock.Sweep, SweepJson.File))], (stock, folder) => bytes =>
        {
            string path = Path.Combine(folder, SweepJson.File);
            File.WriteAllBytes(path, bytes);
            SweepReport.Write(SweepJson.Read(path), TextWriter.Null);
        }),
        new("table.json", Form.Json, _ => [TableJson()], (stock, folder) =>
        {
            File.WriteAllBytes(Path.Combine(folder, RunFiles.TableMotion), TableMotion());
            return Table(stock, folder, RunFiles.TableRecord);
        }),
        new("table_motion.csv", Form.Table, _ => [TableMotion()], (stock, folder) =>
        {
            File.WriteAllBytes(Path.Combine(folder, RunFiles.TableRecord), TableJson());
            return Table(stock, folder, RunFiles.TableMotion);
        }),
        new("history", Form.Sqlite, stock => [File.ReadAllBytes(stock.History)], (stock, folder) => bytes =>
        {
            string path = Path.Combine(folder, "history.db");
            foreach (string left in Directory.GetFiles(folder)) { File.Delete(left); }
            File.WriteAllBytes(path, bytes);
            using var book = HistoryBook.Open(new SqlitePlace(path));
            _ = book.TakeInUnder(Composition.Context, folder, all: false);
            foreach (var entry in HistoryReader.Suites(book.Database))
            {
                _ = SuiteHistory.Of(book.Database, entry.Name, new("reaction", "p95", null), 20);
            }
            _ = HistoryReader.Flipped(book.Database, null, null);
            _ = HistoryReader.Durations(book.Database);
        })
        {
            Refuses = fault => fault is HistoryException { Message: var said }
                && said.Contains("history.db", StringComparison.Ordinal),
            Writes = ["history.db-journal", "history.db-wal", "history.db-shm", "history.db.lock"],
        },
    ];

    public static void Copy(string from, string to)
    {
        Directory.CreateDirectory(to);
        foreach (string file in Directory.GetFiles(from))
        {
            File.Copy(file, Path.Combine(to, Path.GetFileName(file)), overwrite: true);
        }
    }

    /// <summary>One file of a run's folder: concluded and reported as hil report does it.</summary>
    private static Reader Run(string name, Form form, string file) =>
        new(name, form, stock => [File.ReadAllBytes(Path.Combine(stock.Run, file))], (stock, folder) =>
    {
        Copy(stock.Run, folder);
        return bytes =>
        {
            File.WriteAllBytes(Path.Combine(folder, file), bytes);
            RunConclusion.WriteReport(RunConclusion.Conclude(Composition.Context, folder, AdapterLeave.None));
        };
    }) { Writes = s_written };

    private static Reader Tables(string name, string file, Action<string> read) =>
        new(name, Form.Table, stock => [File.ReadAllBytes(Path.Combine(stock.Run, file))], (stock, folder) => bytes =>
    {
        string path = Path.Combine(folder, file);
        File.WriteAllBytes(path, bytes);
        read(path);
    });

    private static void Score(IReadOnlyList<ReferenceInterval> reference, IReadOnlyList<Decision> decisions) =>
        ScoreJson.Write(Scorer.Score(new ScoreInput
    {
        Reference = reference,
        Decisions = decisions,
        Outputs = decisions.Count == 0 ? [""] : [.. decisions.Select(d => d.Output).Distinct()],
        End = new StimulusTime(4_000_000_000),
        Rules = new() { Limits = [] },
    }), Stream.Null);

    private static Action<byte[]> Table(Stock stock, string folder, string file)
    {
        var run = RunManifestFile.Read(Path.Combine(stock.Run, RunFiles.Manifest)) with { OnTable = true };
        var felt = new Dictionary<string, double[]> { ["az"] = [.. Enumerable.Range(0, 350).Select(i => Math.Sin(i / 10.0))] };
        return bytes =>
        {
            File.WriteAllBytes(Path.Combine(folder, file), bytes);
            _ = TableReview.Of(run, folder, felt);
        };
    }

    private static byte[] Written(Action<string> write)
    {
        using var folder = Testing.TestPaths.NewFolder();
        write(folder.File("written"));
        return File.ReadAllBytes(folder.File("written"));
    }

    private static byte[] Marks() => Written(path => MarksFile.Write(path,
        [new(0, HandMarkKind.Told, new(0), 1_700_000_000_000_000_000),
            new(1, HandMarkKind.Told, new(2_000_000_000), 1_700_000_002_000_000_000),
                new(1, HandMarkKind.Marked, new(2_100_000_000), 1_700_000_002_100_000_000)]));

    private static byte[] TableJson() => Written(path => new TableRecord("z", "scale", 2, 100, 0.9, 0.5, 1000, 0.001, 1.1, true,
        new(0.1, 0.09, 0.01, [new(0, 2, 0.01, 0), new(2, 100, 0.1, 0.1)], [new(1, 2)]),
        [new("ax", 0.01)], "model.yaml", [new(0, "carried", "carried", "resting")], null).Write(path));

    private static byte[] TableMotion() =>
        Written(path =>
            TableMotionFile.Write(path, 0.5, 1000, [.. Enumerable.Range(0, 300).Select(i => Math.Sin(i / 50.0))],
                [.. Enumerable.Range(0, 300).Select(i => Math.Sin(i / 50.0))]));

    private static byte[] Lock()
    {
        using var folder = Testing.TestPaths.NewFolder();
        new PlanLock(new("plan.yaml", FileHash.Sha256OfText("plan"), "plan"), new("rig.yaml", FileHash.Sha256OfText("rig")),
            [new("one.yaml", FileHash.Sha256OfText("one"))], [new("short.csv", FileHash.Sha256OfText("short"))],
            ["one"], 1, Speeds.Max, new("1.5.0", null, null),
                Composition.Context.Version) { MostTrials = [12] }.Write(folder.Path);
        return File.ReadAllBytes(folder.File("plan.lock"));
    }
}
