using System.Collections.Concurrent;
using System.Text.Json;
using HilRunner.Cli.Tests;
using HilRunner.Emulated.Tests.Bench;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Running;

/// <summary>
/// Nights of a bench: the healthy image against each deliberate defect is worse, in what the defect touches; against itself, with other noise in another order, no change is shown.
/// </summary>
[Timing("report latencies and the clock of nights in real time are compared")]
public sealed class CompareTests
{
    private const string Suite = "scenarios/emulated/nightly.yaml";
    private const int AtOnce = 5;

    /// <summary>Twenty with HIL_LONG=1, which takes two minutes.</summary>
    private static readonly int s_nights = Environment.GetEnvironmentVariable("HIL_LONG") == "1" ? 20 : 2;

    private readonly ConcurrentDictionary<string, HilResult> _nights = new();
    private TemporaryFolder _folder = null!;

    private string Runs => _folder.File("runs");

    [OneTimeSetUp]
    public void Play()
    {
        _folder = TestPaths.NewFolder("compare");
        // Reports are only timed, and the clock only known, in real time; decisions, resets and silences show at any speed. What
        // was recorded is of few sources, so that the exchange of runs must show a change: four of two scenarios, five of one.
        List<(string Name, string? Defect, string Speed, int Seed)> runs =
        [
            ("night-real", null, "real", 1), (Defects.Clock, Defects.Clock, "real", 1), ("real", null, "real", 1),
                (Defects.Slow, Defects.Slow, "real", 1), ("good", null, "max", 1),
            .. new[] { Defects.Threshold, Defects.Window, Defects.Count, Defects.Leak, Defects.Reset }.Select(d => (d, (string?)d, "max", 1)),
            .. Enumerable.Range(2, s_nights).Select(seed => ($"night-{seed}", (string?)null, "max", seed)),
        ];
        string shortSuite = _folder.File("short.yaml");
        File.WriteAllText(shortSuite, $"""
            suite: short
            scenarios: [{Path.Combine(TestPaths.Root, "scenarios/emulated/short.yaml")}]
            compare: {"{"}reaction: 5 ms, report_latency: 50 ms, earlier: worse{"}"}
            """);
        foreach (string? defect in runs.Select(r => r.Defect).Distinct()) { Images.Get(new() { Defect = defect }); }
        Parallel.ForEach(Partitioner.Create(runs, EnumerablePartitionerOptions.NoBuffering), new ParallelOptions { MaxDegreeOfParallelism = AtOnce }, run =>
        {
            string image = Images.Get(new() { Defect = run.Defect });
            // A clock's rate takes a minute to be known.
            bool isNight = run.Speed == "max" || run.Name is "night-real" or Defects.Clock, once = isNight && run.Speed == "real";
            _nights[run.Name] = Hil.Run(
                "run", isNight ? Suite : shortSuite, "--repeat", once ? "1" : isNight ? "4" : "5", "--rig", RigFiles.For(image,
                    resets: run.Defect == Defects.Leak), "--image",
                image, "--build", run.Name, "--speed", run.Speed, "--seed", $"{run.Seed}", "--out", Runs, "--quiet");
        });
    }

    [OneTimeTearDown]
    public void Remove() => _folder.Dispose();

    [TestCase(Defects.Threshold, "recognised", "conveyed")]
    [TestCase(Defects.Window, "reaction", "conveyed")]
    [TestCase(Defects.Count, "reaction", "resting")]
    [TestCase(Defects.Slow, "report_latency", "conveyed")]
    [TestCase(Defects.Leak, "device_silences", null)]
    [TestCase(Defects.Reset, "device_resets", null)]
    [TestCase(Defects.Clock, "device_clock_ppm", null)]
    public void A_defective_image_is_worse_in_what_its_defect_touches(string defect, string measure, string? name)
    {
        var (code, outcome, differences) = Compare(defect switch { Defects.Slow => "real", Defects.Clock => "night-real", _ =>
            "good" }, defect);
        string all = string.Join("; ", differences.Where(d => d.Outcome == "worse").Select(d => $"{d.Measure} {d.Class}"));
        TestContext.Out.WriteLine(all);
        Assert.That((code, outcome), Is.EqualTo((1, "worse")), all + _nights[defect].Errors);
        Assert.That(differences.Single(d => d.Measure == measure && d.Class == name).Outcome, Is.EqualTo("worse"), all);
        if (defect is Defects.Window or Defects.Count or Defects.Slow or Defects.Clock)
        {
            Assert.That(differences.Where(d => d.Outcome == "worse").Select(d => d.Measure).Distinct(), Is.EqualTo(new[] { measure }), "and in nothing else");
        }
    }

    [Test]
    public void The_healthy_image_against_itself_shows_no_change()
    {
        for (int seed = 2; seed < 2 + s_nights; seed++)
        {
            var (code, outcome, differences) = Compare("good", $"night-{seed}");
            Assert.That((code, outcome), Is.EqualTo((0, "no change shown")), $"seed {seed}: " + string.Join("; ", differences.Where(d => d.Outcome is "worse" or "better").Select(d => $"{d.Measure} {d.Class} {d.Outcome}")) + _nights[$"night-{seed}"].Errors);
        }
        TestContext.Out.WriteLine($"{s_nights} nights");
        // The nights do differ: in noise, and in the order. What was played first tells it: a run that this machine held up is played anew at the end.
        // Nights that began in one second have a number behind the name.
        string[] played = [.. Directory.GetDirectories(Runs, "*-nightly-of-the-parcel-tag*").Select(d =>
            Path.GetFileName(Directory.GetDirectories(d).Order(StringComparer.Ordinal).First())).Distinct()];
        Assert.That(played, Has.Length.EqualTo(2), "belts first, or shelves");
        string[] stimuli = [.. Directory.GetFiles(Runs, "stimulus.csv", SearchOption.AllDirectories).Where(f =>
            f.Contains("belts", StringComparison.Ordinal)).Select(File.ReadAllText).Distinct()];
        Assert.That(stimuli, Has.Length.EqualTo(s_nights + 1), "one noise for each seed");
    }

    private (int Code, string Outcome, List<(string Measure, string? Class, string Outcome)> Differences) Compare(string baseline, string candidate)
    {
        var result = Hil.Run("compare", baseline, candidate, "--runs", Runs, "--out",
            _folder.File($"{candidate}.html"), "--json");
        Assert.That(result.Output, Is.Not.Empty, result.Errors + _nights[candidate].Errors);
        var json = JsonDocument.Parse(result.Output).RootElement;
        return (result.Code, json.GetProperty("outcome").GetString()!,
            [.. json.GetProperty("differences").EnumerateArray().Select(d => (d.GetProperty("measure").GetString()!, d.GetProperty("class").GetString(), d.GetProperty("outcome").GetString()!))]);
    }
}
