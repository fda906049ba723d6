using System.Diagnostics;
using System.Globalization;
using System.Text;
using HilRunner.Application.Comparing;
using HilRunner.Application.Histories;
using HilRunner.Application.Stored;
using HilRunner.Cli;
using HilRunner.Core.Files;
using HilRunner.Core.Runs;
using HilRunner.Core.Statistics;
using HilRunner.History;
using HilRunner.Scoring;
using HilRunner.Scoring.Comparing;

namespace HilRunner.Benchmarks.Comparing;

/// <summary>
/// How often a comparison says worse, of builds whose truth is known: the parcel tag's scenarios are played once by the virtual
/// device, then their stored scores are drawn anew for each night, written as the tool writes them, and compared from the files.
/// Identical builds show false alarms, a lower share of recognised trials the power.
/// </summary>
internal static class CompareBenchmark
{
    /// <summary>Share of trials recognised by a good build.</summary>
    private const double Good = 0.95;

    /// <summary>
    /// What a run keeps in its state, in the cases with one: so much of the trials is recognised, in so many of the runs.
    /// </summary>
    private const double StateFactor = 2.0 / 3, StateShare = 0.3;

    /// <summary>Share of runs with a reset of the device, on every build.</summary>
    private const double Resets = 0.03;

    /// <param name="Before">Plays of each scenario on the baseline.</param>
    private sealed record Setting(int Before, int Now, double Share, bool State);

    private sealed record Template(RunManifest Manifest, Score Score, string Expected);

    /// <param name="args">[--cases N] [--seed N] [--row N, the first is 0: that one alone] [--write FILE]</param>
    public static int Run(string[] args)
    {
        int cases = int.Parse(Option(args, "--cases") ?? "200", CultureInfo.InvariantCulture);
        int seed = int.Parse(Option(args, "--seed") ?? "1", CultureInfo.InvariantCulture);
        int? only = Option(args, "--row") is { } row ? int.Parse(row, CultureInfo.InvariantCulture) : null;
        string folder = Directory.CreateTempSubdirectory("hil-compare-").FullName;
        var report = new StringBuilder();
        try
        {
            var templates = Templates(folder);
            int trials = templates.Sum(t => t.Score.Outputs.Sum(o => o.Trials.Count(x => x.Counted)));
            report.Append(CultureInfo.InvariantCulture,
                $"# Comparing builds whose truth is known\n\n{templates.Count} scenarios of the parcel tag, {trials} trials a play; {Good:0.00} of them recognised, a reset in {Resets:0.00} of the runs; seed {seed}.\n");
            report.Append(CultureInfo.InvariantCulture,
                $"With a state, {StateShare:0.0} of the runs recognise {StateFactor:0.00} of what the others do. {cases} cases each, through run.yaml, score.json and batch.json.\n");
            report.Append(CultureInfo.InvariantCulture,
                $"Made by `dotnet run -c Release --project tests/HilRunner.Benchmarks -- compare --cases {cases} --write FILE`.\n\n");
            report.Append("| plays before : now | trials recognised now | state of a run | said worse | 95 % interval | rests on these recordings |\n|---|---|---|---|---|---|\n");
            (int Before, int Now)[] plays = [(1, 1), (3, 3), (9, 3), (3, 1)];
            List<Setting> settings =
            [
                .. plays.Select(p => new Setting(p.Before, p.Now, Good, false)), .. plays.Select(p => new Setting(p.Before,
                    p.Now, Good, true)),
                .. new[] { 0.65, 0.85 }.SelectMany(s => plays[..3].Select(p => new Setting(p.Before, p.Now, s, false))),
            ];
            int number = 0;
            foreach (var setting in settings)
            {
                var random = new Random(seed + number++);
                if (only is not null && only != number - 1) { continue; }
                int worse = 0, here = 0;
                for (int i = 0; i < cases; i++)
                {
                    var comparison = Compared(templates, setting, random, folder);
                    if (comparison.Overall == Change.Worse) { worse++; }
                    if (comparison.Differences[0].Basis == Basis.TheseRecordings) { here++; }
                }
                Row(report,
                    $"{setting.Before} : {setting.Now} | {setting.Share:0.00} | {(setting.State ? "yes" : "no")}", worse, cases, $"{here} of {cases}");
            }
            if (only is not null)
            {
                Console.Out.Write(report);
                return 0;
            }
            report.Append("\nThe baseline chosen as `--baseline last-good` chooses it, by the history, where a night passes with 0.93 of its trials recognised; identical builds:\n\n");
            report.Append("| nights of the image | counted are | said worse | 95 % interval | nights compared |\n|---|---|---|---|---|\n");
            foreach (var (nights, all) in ((int, bool)[])[(3, true), (3, false), (1, true)])
            {
                var (worse, compared) = LastGood(templates, nights, all, cases, new Random(seed + number++), folder);
                Row(report,
                    $"{nights} | {(all ? "all plays of the image" : "the night that was chosen")}", worse, compared, $"{compared}");
            }
        }
        finally { Directory.Delete(folder, recursive: true); }
        Console.Out.Write(report);
        if (Option(args, "--write") is { } file) { File.WriteAllText(file, report.ToString()); }
        return 0;
    }

    private static void Row(StringBuilder report, string what, int worse, int of, string more)
    {
        double low = BinomialBounds.Lower(worse, of, 0.975) ?? 0, high = BinomialBounds.Upper(worse, of, 0.975) ?? 1;
        string line = string.Create(CultureInfo.InvariantCulture,
            $"| {what} | {(double)worse / of:0.000} | {low:0.000} to {high:0.000} | {more} |\n");
        report.Append(line);
        Console.Error.Write(line);
    }

    private static BuildComparison Compared(IReadOnlyList<Template> templates, Setting setting, Random random, string folder)
    {
        string root = Path.Combine(folder, "case");
        for (int night = 0; night < setting.Before; night++) { Night(templates, root,
            $"before-{night}", "a", night, 1, Good, setting.State, random); }
        Night(templates, root, "now", "b", setting.Before, setting.Now, setting.Share, setting.State, random);
        // As hil compare a b reads them.
        var (before, now) = (ComparedBuild.Read(Composition.Context, "build a", root),
            ComparedBuild.Read(Composition.Context, "build b", root));
        if (before.Runs.Count != setting.Before * templates.Count || now.Runs.Count != setting.Now * templates.Count)
        {
            throw new InvalidOperationException($"{before.Runs.Count} and {now.Runs.Count} runs were read");
        }
        var comparison = BuildComparison.Of(before.Runs, now.Runs, now.Tolerances);
        Directory.Delete(root, recursive: true);
        return comparison;
    }

    private static (int Worse, int Compared) LastGood(
        IReadOnlyList<Template> templates, int nights, bool all, int cases, Random random, string folder)
    {
        int worse = 0, compared = 0;
        for (int i = 0; i < cases; i++)
        {
            string root = Path.Combine(folder, "case");
            for (int night = 0; night < nights; night++) { Night(templates, root,
                $"before-{night}", "a", night, 1, Good, false, random); }
            using (var book = HistoryBook.Open(HistoryPlace.Parse(Path.Combine(root, HistoryPlace.FileName))))
            {
                book.TakeInUnder(Composition.Context, root, all: false);
                if (book.LastGood("parcel tag", Build("b")) is { } good)
                {
                    string now = Night(templates, root, "now", "b", nights, 1, Good, false, random);
                    string[] baseline = [good, .. all ? ComparedBuild.PlaysOfSameImage(good, root) : []];
                    var comparison = BuildComparison.Of(ComparedBuild.Read(Composition.Context, "a", baseline).Runs,
                        ComparedBuild.Read(Composition.Context, "b",
                        [now]).Runs, new());
                    compared++;
                    if (comparison.Overall == Change.Worse) { worse++; }
                }
            }
            Directory.Delete(root, recursive: true);
        }
        return (worse, compared);
    }

    private static BuildIdentity Build(string image) => new("build " + image, "firmware.bin", FileHash.Sha256OfText(image));

    /// <summary>A batch with all scenarios, so many times, its trials drawn anew.</summary>
    private static string Night(
        IReadOnlyList<Template> templates, string root, string name, string image, int day, int repeats, double share,
            bool state, Random random)
    {
        string batch = Path.Combine(root, name);
        Directory.CreateDirectory(batch);
        int number = 0, recognised = 0, counted = 0;
        for (int repeat = 1; repeat <= repeats; repeat++)
        {
            foreach (var template in templates)
            {
                double right = share * (state && random.NextDouble() < StateShare ? StateFactor : 1);
                var score = template.Score with
                {
                    Outputs = [.. template.Score.Outputs.Select(o => o with { Trials = [.. o.Trials.Select(t => Drawn(t, right,
                        random))] })],
                    Device = template.Score.Device with { Resets = random.NextDouble() < Resets ? 1 : 0 },
                };
                recognised += score.Outputs.Sum(o => o.Trials.Count(t => t is { Counted: true, Recognised: true }));
                counted += score.Outputs.Sum(o => o.Trials.Count(t => t.Counted));
                string run = Path.Combine(batch, $"{++number:000}");
                Directory.CreateDirectory(run);
                RunManifestFile.Write(Path.Combine(run, RunFiles.Manifest), template.Manifest with { Build = Build(image),
                    Repeat = repeat });
                File.Copy(template.Expected, Path.Combine(run, RunFiles.Expected));
                using var stream = File.Create(Path.Combine(run, RunFiles.Score));
                ScoreJson.Write(score, stream);
            }
        }
        var started = new DateTimeOffset(2025, 1, 1, 2, 0, 0, TimeSpan.Zero).AddDays(day);
        new BatchRecord("parcel tag", number, started, started.AddMinutes(20), null, "bench", "0", Build(image))
        {
            Verdict = recognised >= 0.93 * counted ? Verdict.Pass : Verdict.Fail,
        }.Write(batch);
        return batch;
    }

    private static TrialScore Drawn(TrialScore trial, double share, Random random)
    {
        if (!trial.Counted) { return trial; }
        bool recognised = random.NextDouble() < share;
        return trial with { Recognised = recognised, Missed = !recognised, Already = false, ReactionNs = recognised
            ? trial.ReactionNs ?? 500_000_000 : null };
    }

    private static List<Template> Templates(string folder)
    {
        string runs = Path.Combine(folder, "template");
        var start = new ProcessStartInfo(Path.Combine(AppContext.BaseDirectory, "hil"),
            ["run", "scenarios/parcel", "--rig", "rigs/virtual.yaml", "--out", runs, "--quiet"])
        {
            WorkingDirectory = Checkout.Root,
            RedirectStandardOutput = true,
        };
        using (var process = Process.Start(start)!)
        {
            process.StandardOutput.ReadToEnd();
            process.WaitForExit();
        }
        return
        [
            .. RunFolders.In(RunFolders.Batches(runs).Single()).Select(r =>
                new Template(RunManifestFile.Read(Path.Combine(r, RunFiles.Manifest)), RunConclusion.Stored(r)!, Path.Combine(r,
                    RunFiles.Expected))),
        ];
    }

    private static string? Option(string[] args, string name) => Array.IndexOf(args, name) is >= 0 and var at
        && at + 1 < args.Length ? args[at + 1] : null;
}
