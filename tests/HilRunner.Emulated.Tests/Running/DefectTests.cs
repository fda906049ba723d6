using System.Collections.Concurrent;
using System.Net;
using System.Text.Json;
using HilRunner.Cli.Tests;
using HilRunner.Core.Runs;
using HilRunner.Emulated.Tests.Bench;
using HilRunner.Scoring;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Running;

/// <summary>
/// Every deliberate defect is found by <c>hil run</c>, by the measure that fits it and by no other, and the report points at it;
/// the healthy image passes the same scenarios. rigs/emulated/README.md holds the same as a table.
/// </summary>
[Timing("a slow report is found in real time, and no other defect may look like one")]
public sealed class DefectTests
{
    private const int AtOnce = 5;
    private const string Timing = "scenarios/emulated/timing.yaml", Drops = "scenarios/parcel/drops.yaml";
    private static readonly string s_open = Verdicts.Word(Verdict.Inconc);
    private static readonly ConcurrentDictionary<(string? Defect, string Scenario), Played> s_played = new();
    private TemporaryFolder _folder = null!;

    private sealed record Broken(string Measure, string? Class, string? Direction, string Text);

    private sealed record Played(HilResult Result, string Verdict, IReadOnlyList<string> Reasons, IReadOnlyList<Broken> Broken, string Report);

    [OneTimeSetUp]
    public void Play()
    {
        _folder = TestPaths.NewFolder("defects");
        // Memory leaks with each sample: it takes a longer scenario than the others, and no real time.
        (string? Defect, string Scenario, string Speed)[] runs =
        [
            (null, Timing, "real"), (Defects.Threshold, Timing, "real"), (Defects.Window, Timing, "real"), (Defects.Count, Timing, "real"),
            (Defects.Slow, Timing, "real"), (Defects.Reset, Timing, "real"), (Defects.Clock, Timing, "real"), (Defects.Leak, Drops, "max"), (null, Drops, "max"),
        ];
        foreach (var run in runs) { Images.Get(new() { Defect = run.Defect }); }
        Parallel.ForEach(runs, new ParallelOptions { MaxDegreeOfParallelism = AtOnce },
            run => s_played[(run.Defect, run.Scenario)] = Play(run.Defect, run.Scenario, run.Speed));
        // What the machine held up twice, beside four other emulators, is played once more with the machine to itself.
        foreach (var run in runs.Where(r => s_played[(r.Defect, r.Scenario)].Verdict == s_open))
        {
            TestContext.Out.WriteLine($"alone: {run.Defect ?? "healthy"} {run.Scenario}");
            s_played[(run.Defect, run.Scenario)] = Play(run.Defect, run.Scenario, run.Speed, "-alone");
        }
    }

    [OneTimeTearDown]
    public void Remove() => _folder.Dispose();

    [TestCase(Timing)]
    [TestCase(Drops)]
    public void The_healthy_image_passes(string scenario)
    {
        var played = s_played[(null, scenario)];
        Assert.That((played.Result.Code, played.Verdict), Is.EqualTo((0, "pass")), string.Join("; ", played.Reasons) + played.Result.Errors);
    }

    [TestCase(Defects.Threshold, "missed", null, "missed")]
    [TestCase(Defects.Window, "reaction", "at_least", "reaction")]
    [TestCase(Defects.Count, "reaction", "at_least", "reaction")]
    [TestCase(Defects.Slow, "report_latency", "at_most", "report")]
    [TestCase(Defects.Reset, "device_resets", null, "resets")]
    [TestCase(Defects.Clock, "device_clock_ppm", null, "clock")]
    public void A_defect_is_found_by_the_measure_that_fits_it(string defect, string measure, string? direction, string said) =>
        Found(s_played[(defect, Timing)], measure, direction, said);

    [Test]
    public void A_leak_is_found_by_the_devices_silence() => Found(s_played[(Defects.Leak, Drops)], "device_silences", null, "silence");

    [Test]
    public void A_wrong_decision_is_not_taken_for_a_slow_report_nor_the_other_way_round()
    {
        Assert.Multiple(() =>
        {
            Assert.That(Measures(Defects.Slow), Is.EquivalentTo(new[] { "report_latency" }));
            Assert.That(Measures(Defects.Clock), Is.EquivalentTo(new[] { "device_clock_ppm" }));
            // One of its decisions comes a hop later, and so does the report of it.
            Assert.That(Measures(Defects.Window), Is.EquivalentTo(new[] { "reaction", "report_latency" }));
            Assert.That(Measures(Defects.Count), Is.EquivalentTo(new[] { "reaction" }));
            Assert.That(Measures(Defects.Threshold), Does.Not.Contain("device_resets").And.Not.Contain("device_silences").And.Not.Contain("device_clock_ppm"));
        });

        static IEnumerable<string> Measures(string defect) => s_played[(defect, Timing)].Broken.Select(b => b.Measure).Distinct();
    }

    private static void Found(Played played, string measure, string? direction, string said)
    {
        string all = string.Join("; ", played.Reasons);
        TestContext.Out.WriteLine(all);
        var fitting = played.Broken.Where(b => b.Measure == measure && (direction is null || b.Direction == direction)).ToArray();
        Assert.Multiple(() =>
        {
            Assert.That((played.Result.Code, played.Verdict), Is.EqualTo((1, "fail")), all + played.Result.Output + played.Result.Errors);
            Assert.That(fitting, Is.Not.Empty, () => "broken: " + string.Join("; ", played.Broken.Select(b => b.Text)));
            Assert.That(played.Reasons[0], Does.Contain(said).IgnoreCase, "the deciding reason comes first");
            Assert.That(played.Result.Output, Does.Contain(said).IgnoreCase);
            foreach (string reason in played.Reasons.Where(r => !r.Contains(" is open", StringComparison.Ordinal)))
            {
                Assert.That(played.Report.Contains(reason, StringComparison.Ordinal), Is.True, $"the report says: {reason}");
            }
        });
    }

    private Played Play(string? defect, string scenario, string speed, string suffix = "")
    {
        string outFolder = _folder.File($"{defect ?? "healthy"}-{Path.GetFileNameWithoutExtension(scenario)}{suffix}");
        var result = Hil.Run(
            "run", scenario, "--rig", RigFiles.For(Images.Get(new() { Defect = defect }), resets: defect == Defects.Leak),
            "--speed", speed, "--out", outFolder);
        string[] runs = Directory.Exists(outFolder)
            ? [.. Directory.GetFiles(outFolder, RunFiles.Score, SearchOption.AllDirectories).Select(s =>
                Path.GetDirectoryName(s)!)
                .OrderBy(r => RunManifestFile.Read(Path.Combine(r, RunFiles.Manifest)).Started)]
            : [];
        Assert.That(runs, Is.Not.Empty, $"{defect}: {result.Output}{result.Errors}");
        // The tool plays a run again that the machine held up, and says inconclusive of the first: the last one counts.
        foreach (string held in runs[..^1])
        {
            using var not = JsonDocument.Parse(File.ReadAllText(Path.Combine(held, RunFiles.Score)));
            Assert.That(not.RootElement.GetProperty("verdict").GetString(), Is.EqualTo(s_open), held);
            TestContext.Out.WriteLine($"{defect ?? "healthy"} was played again: {not.RootElement.GetProperty("reasons")}");
        }
        using var score = JsonDocument.Parse(File.ReadAllText(Path.Combine(runs[^1], RunFiles.Score)));
        string report = WebUtility.HtmlDecode(File.ReadAllText(Path.Combine(runs[^1], RunFiles.Report)));
        return new(
            result, score.RootElement.GetProperty("verdict").GetString()!, [.. score.RootElement.GetProperty("reasons").EnumerateArray().Select(r => r.GetString()!)],
            [
                .. score.RootElement.GetProperty("limits").EnumerateArray().Where(l => l.GetProperty("outcome").GetString() == "broken").Select(l => new Broken(
                    l.GetProperty("measure").GetString()!, l.GetProperty("class").GetString(), l.GetProperty("direction").GetString(), l.GetProperty("limit").GetString()!)),
            ],
            report);
    }
}
