using System.Text.Json;
using HilRunner.Core.Runs;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>What a person reads of a run's times on the terminal, against the score that the same run left.</summary>
[Timing("a run in real time must keep the default limit on late samples")]
public class TimingOutputTests
{
    private const string Scenario = """
        scenario: rest then belt
        stimulus:
          - synth: {rest: 3 s, class: resting}
          - synth: {tone: 16 Hz, peak: 0.3 g, axis: z, for: 5 s, class: conveyed}
        limits:
          - {measure: reaction, class: conveyed, statistic: max, at_most: 4 s}
          - {measure: report_latency, class: conveyed, statistic: max, at_most: 4 s}
          - {measure: device_clock_ppm, at_most: 2 %}
        """;

    [Test]
    public void ARunInRealTimeShowsBothLatenciesTheClockAndThePacing()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("belt.yaml"), Scenario);
        var result = Hil.Run("run", folder.File("belt.yaml"), "--rig", "rigs/virtual.yaml", "--speed", "real", "--out", folder.File("runs"));
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        Assert.That(result.Output.Split('\n').Where(l => !l.Contains(folder.Path)).Select(l => l.TrimEnd().Length), Is.All.LessThanOrEqualTo(80));
        string run = Directory.GetFiles(folder.File("runs"), RunFiles.Score, SearchOption.AllDirectories).Single();
        using var score = JsonDocument.Parse(File.ReadAllBytes(run));
        var health = score.RootElement.GetProperty("health");
        Assert.That(health.GetProperty("late_p50_s").GetDouble(), Is.LessThanOrEqualTo(health.GetProperty("late_p99_s").GetDouble()));
        Assert.That(health.GetProperty("late_p99_s").GetDouble(), Is.LessThanOrEqualTo(health.GetProperty("late_max_s").GetDouble()));
        var trial = score.RootElement.GetProperty("trials").EnumerateArray().Single(t => t.GetProperty("class").GetString() == "conveyed");
        Assert.That(trial.GetProperty("uncertainty_s").GetDouble(), Is.Zero, "timed by sample number");
        // What the host sees is what the algorithm costs and then some: link, device and wake-ups.
        Assert.That(trial.GetProperty("report_latency_s").GetDouble() + trial.GetProperty("report_uncertainty_s").GetDouble(), Is.GreaterThan(trial.GetProperty("reaction_s").GetDouble() - 0.1));
        var timing = score.RootElement.GetProperty("timing");
        int answered = timing.GetProperty("exchanges").GetInt32(), asked = answered + timing.GetProperty("unanswered").GetInt32();
        string again = Hil.Run("score", Path.GetDirectoryName(run)!).Output;
        foreach (string output in (string[])[result.Output, again])
        {
            Assert.That(output, Does.Match(@"latency, s +reaction p50 +p95 +± +report p50 +p95 +±"));
            Assert.That(output, Does.Match(@"conveyed +\d\.\d{3} +\d\.\d{3} +exact +\d\.\d+ +\d\.\d+ +[\d.]+ (µs|ms|s)"));
            Assert.That(output, Does.Match($@"clock   \S+ ± \S+ ppm.* · {answered} of {asked} answers"));
            Assert.That(output, Does.Match(@"pacing  late by p50 .+ · p99 .+ · max .+ \(limit 50 ms\)"));
        }
        Assert.That(again, Does.Contain("device_clock_ppm ≤ 20000 ppm"));
    }

    [Test]
    public void ARunAtTheDevicesPaceSaysWhatIsNotKnown()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("belt.yaml"), Scenario);
        var result = Hil.Run("run", folder.File("belt.yaml"), "--rig", "rigs/virtual.yaml", "--speed", "max", "--out", folder.File("runs"));
        Assert.That(result.Code, Is.EqualTo(2), "the limit on report latency cannot be judged");
        Assert.That(result.Output, Does.Contain("report latency  not known").And.Contain("pacing  nothing was due: the device set the pace"));
    }
}
