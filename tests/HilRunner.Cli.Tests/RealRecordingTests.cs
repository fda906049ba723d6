using HilRunner.Core.Models;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>
/// Real recordings (Reyes-Ortiz and others, Smartphone-Based Recognition of Human Activities and Postural Transitions, 2015)
/// through the whole walk over a pty: the same decisions in real time and at speed max, and the same as the model run directly.
/// </summary>
[Timing("a run in real time must keep the default limit on late samples")]
public class RealRecordingTests
{
    private const string RigPath = "rigs/virtual-activity.yaml";

    [TestCase("person-01")]
    [TestCase("person-02")]
    [TestCase("person-03")]
    [TestCase("person-04")]
    public void AWholeRecordingAtSpeedMaxGivesTheModelsDecisions(string person)
    {
        TestPaths.OpenData("activity/labels.txt");
        using var folder = TestPaths.NewFolder();
        string scenario = Path.Combine(TestPaths.Root, "scenarios", "open-data", person + ".yaml");
        var result = Hil.Run("run", scenario, "--rig", RigPath, "--speed", "max", "--out", folder.Path);
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        Assert.That(Decided(folder.Path), Is.EqualTo(Modelled(scenario)));
    }

    [Test]
    public void ACutInRealTimeGivesTheSameAsAtSpeedMax()
    {
        string data = Path.GetDirectoryName(Path.GetDirectoryName(TestPaths.OpenData("activity/labels.txt")))!;
        using var folder = TestPaths.NewFolder();
        // From standing into walking, by the labels of this recording.
        string scenario = folder.File("cut.yaml");
        string whole = File.ReadAllText(Path.Combine(TestPaths.Root, "scenarios", "open-data", "person-01.yaml"))
            .Replace("${HIL_OPEN_DATA}", data, StringComparison.Ordinal);
        const string play = "acc_exp01_user01.txt\n";
        Assert.That(whole, Does.Contain(play));
        int limits = whole.IndexOf("limits:", StringComparison.Ordinal);
        File.WriteAllText(
            scenario,
            whole[..limits].Replace(play, play + "    from: 148 s\n    to: 166 s\n", StringComparison.Ordinal) + "limits: [{measure: missed, at_most: 0}]\n");
        foreach (string speed in new[] { "real", "max" })
        {
            var result = Hil.Run("run", scenario, "--rig", RigPath, "--speed", speed, "--out", folder.File(speed));
            Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        }
        var real = Decided(folder.File("real"));
        Assert.That(real.Select(d => d.Class).Distinct().Count(), Is.GreaterThan(1), "the cut must hold a change");
        Assert.That(real, Is.EqualTo(Decided(folder.File("max"))));
        Assert.That(real, Is.EqualTo(Modelled(scenario)));
    }

    private static List<(long? Sample, string Class)> Decided(string folder)
    {
        string file = Directory.GetFiles(folder, RunFiles.Decisions, SearchOption.AllDirectories).Single();
        return [.. DecisionsFile.Read(file).Select(d => (d.Sample, d.Class))];
    }

    /// <summary>The same stimulus, lead included, straight into the host model.</summary>
    private static List<(long? Sample, string Class)> Modelled(string scenarioPath)
    {
        var rig = RigFile.Read(Path.Combine(TestPaths.Root, RigPath));
        var stimulus = StimulusBuilder.Build(ScenarioFile.Read(scenarioPath), Path.GetDirectoryName(scenarioPath)!, rig.Device.Input, 1);
        var runner = new ModelRunner(MotionModel.Read(Path.Combine(TestPaths.Root, "scenarios", "open-data", "model.yaml")));
        var decisions = new List<(long?, string)>();
        var sample = new int[stimulus.Counts.Count];
        for (int n = 0; n < stimulus.SampleCount; n++)
        {
            for (int c = 0; c < sample.Length; c++) { sample[c] = stimulus.Counts[c][n]; }
            if (runner.Push(n, sample, out var decision)) { decisions.Add((n - stimulus.LeadSamples, decision.Class)); }
        }
        return decisions;
    }
}
