using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using System.Text;
using System.Text.Json;
using System.Text.RegularExpressions;
using HilRunner.Cli.Tests;
using HilRunner.Testing;

namespace HilRunner.Delivery.Tests;

/// <summary>
/// Plays calls of `hil run`, each on one rig description through a link and a device of its own, all side by side: they mostly
/// wait.
/// </summary>
internal sealed class Round : IDisposable
{
    private readonly TemporaryFolder _folder = TestPaths.NewFolder("delivery");
    private readonly ConcurrentBag<Played> _played = [];
    private readonly ConcurrentBag<string> _unplayed = [];

    public IReadOnlyList<Played> Played =>
        [.. _played.OrderBy(p => p.Case.Dialect.Name, StringComparer.Ordinal).ThenBy(p => p.Folder, StringComparer.Ordinal)];

    /// <summary>Cases of which no score came: what hil said instead.</summary>
    public IReadOnlyList<string> Unplayed => [.. _unplayed];

    public TimeSpan Took { get; private set; }

    /// <summary>One call for each rig description, or for one alone: its cases are the same then.</summary>
    public void Play(int seed, string? only)
    {
        var watch = Stopwatch.StartNew();
        Thread[] threads = [.. Dialect.All.Index().Where(d => only is null || d.Item.Name == only)
            .Select(d => new Thread(() => Call(d.Item, seed, d.Index)))];
        foreach (var thread in threads) { thread.Start(); }
        foreach (var thread in threads) { thread.Join(); }
        Took += watch.Elapsed;
    }

    /// <summary>Judges anew what was played before, and kept.</summary>
    /// <param name="folder">Of several rounds, as HIL_KEEP leaves it.</param>
    public void Read(string folder)
    {
        foreach (string call in Directory.GetDirectories(folder).Order(StringComparer.Ordinal))
        {
            string[] name = Path.GetFileName(call).Split('-');
            var (place, dialect) = Dialect.All.Index().Single(d => d.Item.Name == name[1]);
            int seed = int.Parse(name[0], CultureInfo.InvariantCulture);
            Collect(call, FaultCase.Call(dialect, seed * 100 + place), new(0, "", ""));
        }
    }

    public void Dispose()
    {
        if (Environment.GetEnvironmentVariable("HIL_KEEP") is null) { _folder.Dispose(); }
    }

    private void Call(Dialect dialect, int seed, int place)
    {
        string folder = Directory.CreateDirectory(_folder.File($"{seed}-{dialect}")).FullName;
        var cases = FaultCase.Call(dialect, seed * 100 + place);
        try
        {
            foreach (var one in cases) { File.WriteAllText(Path.Combine(folder, $"{one.Name}.yaml"), one.Scenario()); }
            string rig = Path.Combine(folder, "rig.yaml");
            string template = Path.Combine(TestPaths.Root, "tests", "HilRunner.Delivery.Tests", "rigs", $"{dialect}.yaml");
            HilResult result;
            using (var bench =
                new WitnessBench(folder, dialect, cases, cases[0].Kind == "boot" ? 200 + cases[0].Seed % 1800 : null))
            {
                File.WriteAllText(rig, File.ReadAllText(template).Replace("PORT", bench.Port, StringComparison.Ordinal));
                result = Hil.RunProcess(
                    ["run", .. cases.Select(c => bench.At($"{c.Name}.yaml")),
                        "--rig", rig, "--out", bench.At("runs"), "--seed", "1", "--speed", cases[0].Speed]);
            }
            File.WriteAllText(Path.Combine(folder, "hil.txt"), result.Output + result.Errors);
            Collect(folder, cases, result);
        }
        catch (Exception fault)
            when (fault is IOException or AssertionException or TimeoutException
                or JsonException or InvalidOperationException or KeyNotFoundException)
        {
            _unplayed.Add($"{dialect}, seed {seed}: {fault} ({folder})");
        }
    }

    private void Collect(string folder, IReadOnlyList<FaultCase> cases, HilResult result)
    {
        var truths = Truth.Read(folder);
        string runs = Path.Combine(folder, "runs");
        string[] found = Directory.Exists(runs) ? Directory.GetFiles(runs, "run.yaml", SearchOption.AllDirectories) : [];
        var byName = found.Select(Path.GetDirectoryName)
            .ToLookup(f =>
                Regex.Match(File.ReadAllText(Path.Combine(f!, "run.yaml")), @"scenario_name: ""?(case-\d+)").Groups[1].Value);
        foreach (var one in cases)
        {
            string? run = byName[one.Name].SingleOrDefault();
            if (run is null || !File.Exists(Path.Combine(run, "score.json")))
            {
                _unplayed.Add($"{one}: no score ({folder})\n{result.Output}{result.Errors}");
                continue;
            }
            var score = JsonDocument.Parse(File.ReadAllText(Path.Combine(run, "score.json"))).RootElement;
            // A run that never began, as its device did not answer before: nothing was sent.
            var truth = truths.GetValueOrDefault(one.Samples)
                ?? new Truth { Sent = 0, Felt = [], Passed = [], SameCounts = true, Said = 0, Decided = [], Faults = [],
                    HitBefore = false, Clean = false };
            _played.Add(new(one, run, score, File.ReadLines(Path.Combine(run, "decisions.csv")).Count() - 1, truth));
        }
    }

    /// <summary>Cases by fault, direction and rig, with their outcomes.</summary>
    public string Table()
    {
        var text = new StringBuilder();
        foreach (var group in Played.GroupBy(p => $"{p.Case.Kind} {p.Case.Direction}")
            .OrderBy(g => g.Key, StringComparer.Ordinal))
        {
            foreach (var rig in group.GroupBy(p => p.Case.Dialect.Name))
            {
                string outcomes = string.Join(
                    ", ", rig.GroupBy(p => $"{p.Verdict}/{p.Outcome}{(p.Truth.Faults.Count == 0 ? " (nothing hit)" : "")}")
                    .OrderBy(g => g.Key, StringComparer.Ordinal)
                    .Select(g => g.Count() == 1 ? g.Key : $"{g.Count()} × {g.Key}"));
                text.Append(CultureInfo.InvariantCulture, $"{group.Key,-22} {rig.Key,-9} {outcomes}\n");
            }
        }
        return text.ToString();
    }
}
