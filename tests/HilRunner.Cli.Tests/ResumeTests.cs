using System.Diagnostics;
using System.Text.Json;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>A night that is killed and gone on with ends as one that was not.</summary>
public class ResumeTests
{
    private const int Scenarios = 4;

    /// <summary>200 with HIL_LONG=1.</summary>
    private static readonly int s_kills = Environment.GetEnvironmentVariable("HIL_LONG") == "1" ? 200 : 9;

    /// <summary>Nights that a kill must have cut off, or nothing was tried.</summary>
    private const int FewestResumed = 2;
    private TemporaryFolder _folder = null!;

    [SetUp]
    public void SetUp()
    {
        _folder = TestPaths.NewFolder();
        for (int i = 1; i <= Scenarios; i++)
        {
            File.WriteAllText(_folder.File($"night-{i}.yaml"), $$"""
                scenario: night {{i}}
                stimulus:
                  - play: {{Path.Combine(TestPaths.Root, "scenarios", "parcel", "recordings", "belt.csv")}}
                    from: {{i}} s
                    to: {{14 + i}} s
                    noise: 20 mg
                  - synth: {rest: 6 s, class: resting}
                lead: 3 s
                within: 4 s
                limits: [{measure: accuracy, at_least: 0.5}]
                """);
        }
        File.WriteAllText(_folder.File("night.yaml"), "suite: night\nscenarios: [night-*.yaml]\norder: shuffled\nseed: 5\n");
    }

    [TearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void KilledAtRandomInstantsItEndsAsIfItHadNotBeen()
    {
        int seed = Environment.TickCount;
        TestContext.Out.WriteLine($"seed {seed}");
        var random = new Random(seed);
        var whole = Night("whole");
        Assert.That(whole.Code, Is.Zero, whole.Errors);
        string[] undisturbed = Scores("whole");
        var length = Stopwatch.StartNew();
        Assert.That(Night("timed").Code, Is.Zero);
        length.Stop();
        int kills = 0, resumed = 0;
        // Instants before a night's first run, or after its last one, hit nothing: it goes on until some did.
        while (kills < s_kills || (resumed < FewestResumed && kills < 4 * s_kills))
        {
            string name = $"cut-{kills}";
            // One night is killed up to three times before it may end.
            int times = random.Next(1, 4);
            for (int t = 0; t < times; t++, kills++)
            {
                using var night = Start(name);
                night.WaitForExit(TimeSpan.FromMilliseconds(random.NextDouble() * length.Elapsed.TotalMilliseconds));
                night.Kill();
                night.WaitForExit();
            }
            var end = Night(name);
            Assert.That(end.Code, Is.Zero, end.Output + end.Errors);
            if (end.Errors.Contains("going on with", StringComparison.Ordinal)) { resumed++; }
            string[] batches = Directory.GetDirectories(_folder.File(name));
            string last = batches.Order(StringComparer.Ordinal).Last();
            Assert.That(ScoresIn(last), Is.EqualTo(undisturbed), name);
            if (kills < s_kills) { continue; }
            var shown = JsonDocument.Parse(Hil.Run("history", "--runs", _folder.File(name), "--json").Output).RootElement.GetProperty("suites")[0].GetProperty("batches")[0];
            Assert.That((shown.GetProperty("verdict").GetString(), shown.GetProperty("ended").ValueKind), Is.EqualTo(("pass", JsonValueKind.String)));
        }
        TestContext.Out.WriteLine($"{kills} kills, {resumed} nights gone on with, a night takes {length.Elapsed.TotalSeconds:0.0} s");
        Assert.That(resumed, Is.GreaterThanOrEqualTo(FewestResumed), "the kills did hit nights");
    }

    [Test]
    public void WhatIsFinishedStaysAndWhatWasCutOffIsKept()
    {
        using (var night = Start("n"))
        {
            Hil.Await(() => Directory.Exists(_folder.File("n")) && Directory.GetFiles(_folder.File("n"), "report.html", SearchOption.AllDirectories).Count(f => Path.GetFileName(Path.GetDirectoryName(f))!.StartsWith("00", StringComparison.Ordinal)) >= 2, "two finished runs");
            night.Kill();
            night.WaitForExit();
        }
        string batch = Directory.GetDirectories(_folder.File("n")).Single();
        string[] finished = [.. Directory.GetDirectories(batch).Where(d => File.Exists(Path.Combine(d, "run.yaml")) && File.ReadAllText(Path.Combine(d, "run.yaml")).Contains("complete: true", StringComparison.Ordinal))];
        var captures = finished.ToDictionary(d => d, d => File.ReadAllBytes(Path.Combine(d, "link.pcapng")));
        Assert.That(finished, Has.Length.InRange(2, Scenarios - 1));

        var result = Night("n");
        Assert.That(result.Errors, Does.StartWith($"going on with {batch}: {finished.Length} of {Scenarios} runs are done"));
        Assert.That(Directory.GetDirectories(_folder.File("n")), Has.Length.EqualTo(1));
        foreach (var (folder, bytes) in captures) { Assert.That(File.ReadAllBytes(Path.Combine(folder, "link.pcapng")), Is.EqualTo(bytes)); }
        int cutOff = Directory.GetDirectories(batch).Length - Scenarios;
        Assert.That(cutOff, Is.InRange(0, 1), "nothing is played twice");
        string report = File.ReadAllText(Path.Combine(batch, "report.html"));
        if (cutOff == 1) { Assert.That(report, Does.Contain("played again")); }
        Assert.That(Hil.Run("report", batch).Code, Is.Zero);
        Assert.That(File.ReadAllText(Path.Combine(batch, "report.html")), Is.EqualTo(report), "the same from what is stored");

        var nothing = Night("n");
        Assert.That(nothing.Errors, Does.StartWith("nothing to resume"));
        Assert.That(Directory.GetDirectories(_folder.File("n")), Has.Length.EqualTo(2), "the next night");
    }

    [Test]
    public void AnotherNightIsNotGoneOnWith()
    {
        string name = "";
        bool ended = true;
        for (int attempt = 1; ended; attempt++)
        {
            // On a busy machine a night can reach its end before it is killed: that one was not cut off.
            Assert.That(attempt, Is.LessThanOrEqualTo(5), "a night is cut off before its end");
            name = $"n{attempt}";
            using var night = Start(name);
            Hil.Await(() => Directory.Exists(_folder.File(name)) && Directory.GetFiles(_folder.File(name), "score.json", SearchOption.AllDirectories).Length > 0, "a scored run");
            night.Kill();
            night.WaitForExit();
            ended = Directory.GetFiles(_folder.File(name), "summary.txt", SearchOption.AllDirectories).Length > 0;
        }
        Assert.That(Night(name, "--build", "1.5.0").Errors, Does.StartWith("nothing to resume"), "another build");
        Assert.That(Night(name, "--seed", "6").Errors, Does.StartWith("nothing to resume"), "another seed");
        Assert.That(Night(name).Errors, Does.StartWith("going on with"));
    }

    /// <summary>A rig that is in use is said to be before anything is played or made.</summary>
    [Test]
    public void ARigIsUsedByOneCallAtATime()
    {
        using var device = Hil.Start("device", "--rig", "rigs/virtual.yaml", "--tcp", "0");
        string? address = device.StandardOutput.ReadLine();
        Assert.That(address, Does.Contain("tcp://"));
        string link = address![address!.IndexOf("tcp://", StringComparison.Ordinal)..].Split(' ')[0];
        try
        {
            using var first = Hil.Start("run", _folder.File("night.yaml"), "--rig", "rigs/virtual.yaml", "--link", link, "--out", _folder.File("a"), "--speed", "real");
            Hil.Await(() => Directory.Exists(_folder.File("a")) && Directory.GetFiles(_folder.File("a"), "link.pcapng", SearchOption.AllDirectories).Length > 0, "a run under way");
            var second = Hil.Run("run", _folder.File("night.yaml"), "--rig", "rigs/virtual.yaml", "--link", link, "--out", _folder.File("b"));
            Assert.That(second.Code, Is.EqualTo(3));
            Assert.That(second.Errors, Does.Match($@"^hil: rig virtual \(.*\) is in use by another call of hil, process {first.Id} since \d\d:\d\d:\d\d; wait for it to end, or end it"));
            Assert.That(Directory.Exists(_folder.File("b")), Is.False);
            first.Kill();
            first.WaitForExit();
        }
        finally
        {
            device.Kill();
            device.WaitForExit();
        }
    }

    private HilResult Night(string name, params string[] options) => Hil.Run(Arguments(name, options));

    private Process Start(string name)
    {
        var process = Hil.Start(Arguments(name));
        process.StandardInput.Close();
        _ = process.StandardOutput.ReadToEndAsync();
        _ = process.StandardError.ReadToEndAsync();
        return process;
    }

    private string[] Arguments(string name, params string[] options) => ["run", _folder.File("night.yaml"), "--rig", "rigs/virtual.yaml", "--out", _folder.File(name), "--resume", .. options];

    private string[] Scores(string name) => ScoresIn(Directory.GetDirectories(_folder.File(name)).Single());

    /// <summary>Of the runs that are finished, in the order in which they were played: what belongs to the stimulus, byte by byte.</summary>
    private static string[] ScoresIn(string batch) =>
    [
        .. Directory.GetDirectories(batch).Order(StringComparer.Ordinal).Where(d => File.Exists(Path.Combine(d, "run.yaml")) && File.ReadAllText(Path.Combine(d, "run.yaml")).Contains("complete: true", StringComparison.Ordinal))
            .Select(d => Path.GetFileName(d)[4..] + File.ReadAllText(Path.Combine(d, "decisions.csv")).Split('\n').Select(l => string.Join(',', l.Split(',').Take(3))).Aggregate((a, b) => a + "\n" + b)),
    ];
}
