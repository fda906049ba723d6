using System.Diagnostics;
using System.Globalization;
using System.Runtime.InteropServices;
using System.Text;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.History;
using HilRunner.History.Database;
using HilRunner.History.Reading;
using HilRunner.History.Recording;
using HilRunner.Scoring;

namespace HilRunner.Benchmarks.Histories;

/// <summary>
/// A million trials: what `hil history` takes, start of the program included, beside `hil --version`; the look-up of the last good build and of what is flaky on an image, in process; and
/// what a night costs when it is taken in.
/// </summary>
internal static class HistoryBenchmark
{
    private const int Suites = 4, Nights = 500, Runs = 20, Trials = 25, Blocks = 7;

    /// <param name="args">[--write FILE]</param>
    public static int Run(string[] args)
    {
        string folder = Directory.CreateTempSubdirectory("hil-history-").FullName;
        var report = new StringBuilder();
        report.Append(CultureInfo.InvariantCulture, $"# History: a million trials\n\n{RuntimeInformation.OSDescription}, {RuntimeInformation.ProcessArchitecture}, {Environment.ProcessorCount} cores; .NET {Environment.Version}. {Suites} suites × {Nights} nights × {Runs} runs × {Trials} trials; ms, median [least, greatest] of {Blocks}.\n");
        report.Append("Made by `dotnet run -c Release --project tests/HilRunner.Benchmarks -- history --write FILE` with HIL_TEST_POSTGRES set.\n\n");
        report.Append("| | SQLite | PostgreSQL |\n|---|---|---|\n");
        try
        {
            List<HistoryPlace> places = [new SqlitePlace(Path.Combine(folder, "history.db"))];
            if (Environment.GetEnvironmentVariable("HIL_TEST_POSTGRES") is { Length: > 0 } server) { places.Add(HistoryPlace.Parse(server)); }
            else { Console.Error.WriteLine("HIL_TEST_POSTGRES is not set: SQLite only"); }
            var rows = places.Select(p => Measure(p, folder)).ToList();
            foreach (string row in rows[0].Keys) { report.Append(CultureInfo.InvariantCulture, $"| {row} | {string.Join(" | ", rows.Select(r => r[row]))} |\n"); }
        }
        finally { Directory.Delete(folder, recursive: true); }
        Console.Out.Write(report);
        if (Array.IndexOf(args, "--write") is >= 0 and var at && at + 1 < args.Length) { File.WriteAllText(args[at + 1], report.ToString()); }
        return 0;
    }

    private static Dictionary<string, string> Measure(HistoryPlace place, string folder)
    {
        using var history = HistoryDatabase.Open(place);
        var random = new Random(1);
        var watch = Stopwatch.StartNew();
        for (int night = 0; night < Nights; night++)
        {
            for (int suite = 0; suite < Suites; suite++) { HistoryWriter.Record(history, Batch(suite, night, random)); }
        }
        double each = watch.Elapsed.TotalMilliseconds / (Nights * Suites);
        string address = place is PostgresPlace postgres ? postgres.Settings.ConnectionString : place.Shown;
        string[] common = ["history", "--runs", folder, "--history", address];
        string image = HistoryReader.Newest(history, "suite 0", 1)[0].Sha256;
        return new()
        {
            ["`hil --version`"] = Timed(() => Hil("--version")),
            ["`hil history`, the list of suites"] = Timed(() => Hil(common)),
            ["`hil history \"suite 0\"`"] = Timed(() => Hil([.. common, "suite 0"])),
            ["`hil history \"suite 0\" --measure reaction --last 500`"] = Timed(() => Hil([.. common, "suite 0", "--measure", "reaction", "--last", "500"])),
            ["`hil history \"suite 0\" --flaky`, all images"] = Timed(() => Hil([.. common, "suite 0", "--flaky"])),
            ["last good build, in process"] = Timed(() => HistoryReader.Good(history, "suite 0", new BuildIdentity("new", null, "new"), 50)),
            ["flaky trials of one image, in process"] = Timed(() => HistoryReader.Flipped(history, null, image)),
            [$"taking in a batch of {Runs * Trials} trials (mean of {Nights * Suites})"] = each.ToString("0.0", CultureInfo.InvariantCulture),
        };
    }

    private static string Timed(Action work)
    {
        work();
        double[] ms = [.. Enumerable.Range(0, Blocks).Select(_ =>
        {
            var watch = Stopwatch.StartNew();
            work();
            return watch.Elapsed.TotalMilliseconds;
        }).Order()];
        return string.Create(CultureInfo.InvariantCulture, $"{ms[Blocks / 2]:0.0} [{ms[0]:0.0}, {ms[^1]:0.0}]");
    }

    private static void Hil(params string[] arguments)
    {
        var start = new ProcessStartInfo(Path.Combine(AppContext.BaseDirectory, "hil"), arguments) { RedirectStandardOutput = true };
        using var process = Process.Start(start)!;
        process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        if (process.ExitCode != 0) { throw new InvalidOperationException($"hil {string.Join(' ', arguments)} ended with {process.ExitCode}"); }
    }

    private static RecordedBatch Batch(int suite, int night, Random random)
    {
        var started = new DateTimeOffset(2025, 1, 1, 2, 0, 0, TimeSpan.Zero).AddDays(night).AddMinutes(suite);
        return new()
        {
            Name = $"suite {suite}",
            Started = started,
            Ended = started.AddMinutes(20),
            Verdict = random.NextDouble() < 0.8 ? Verdict.Pass : Verdict.Fail,
            Reason = "as it came",
            Planned = Runs,
            Host = "bench",
            Folder = $"/runs/{suite}-{night}",
            // A new image every other night.
            Build = new($"1.{night / 2}", "firmware.bin", $"{night / 2:x40}"),
            Runs = [.. Enumerable.Range(0, Runs).Select(r => new RecordedRun
            {
                Id = $"{r:000}",
                Scenario = $"suite {suite}, scenario {r}",
                Motion = $"{suite:x8}{r:x24}",
                Rig = "bench-1",
                Speed = "max",
                Started = started,
                Ended = started.AddMinutes(1),
                Counts = true,
                Score = Score(random),
            })],
        };
    }

    private static Score Score(Random random)
    {
        const long length = 10_000_000_000;
        var decisions = new List<Decision>();
        for (int i = 0; i < Trials; i++)
        {
            decisions.Add(new(new StimulusTime(i * length), "x"));
            if (random.NextDouble() < 0.97) { decisions.Add(new(new StimulusTime(i * length + random.Next(200, 2000) * 1_000_000L), $"class {i % 5}")); }
        }
        return Scorer.Score(new ScoreInput
        {
            Reference = [.. Enumerable.Range(0, Trials).Select(i => new ReferenceInterval(new(i * length), new((i + 1) * length), $"class {i % 5}", i + 1))],
            Decisions = decisions,
            End = new(Trials * length),
        });
    }
}
