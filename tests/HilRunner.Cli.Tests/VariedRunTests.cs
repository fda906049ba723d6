using System.Text.RegularExpressions;
using HilRunner.Core.Runs;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>A scenario that varies, on the virtual device: the parcel model takes the noise of a bad enough sensor for motion.</summary>
public class VariedRunTests
{
    private static readonly string Morning = Path.Combine(TestPaths.Root, "scenarios", "parcel", "recordings", "morning.csv");

    [Test]
    public void TheEdgeIsFoundAndTheReportIsMadeAgain()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("s.yaml"), $$$"""
            scenario: morning
            stimulus: [{play: "{{{Morning}}}"}]
            lead: 3 s
            within: 4 s
            vary: {grid: {noise: [0 mg, 30 mg, 60 mg]}}
            limits: [{measure: missed, at_most: 0}]
            """);
        var result = Hil.Run("run", folder.File("s.yaml"), "--rig", "rigs/virtual.yaml", "--out", folder.File("runs"));
        Assert.That(result.Code, Is.EqualTo(1), result.Output + result.Errors);
        string said = Regex.Replace(result.Output, @"\s+", " ");
        Assert.That(said, Does.Contain("noise: recognised up to 30 mg; no longer from 60 mg ("));
        Assert.That(said, Does.Contain("every run passes up to 30 mg; no longer from 60 mg (0 of 1)"));
        string batch = Directory.GetDirectories(folder.File("runs")).Single();
        var runs = Directory.GetDirectories(batch).Order(StringComparer.Ordinal).Select(d => RunManifestFile.Read(Path.Combine(d, RunFiles.Manifest))).ToList();
        Assert.That(runs.Select(r => r.Variation!.Values.Single().Value), Is.EqualTo(new[] { 0m, 30m, 60m }));
        Assert.That(runs[2].ScenarioName, Is.EqualTo("morning, noise 60 mg"));
        string report = Path.Combine(batch, RunFiles.Report), live = File.ReadAllText(report);
        Assert.That(live, Does.Contain("Recognised up to 30 mg; no longer from 60 mg"));
        File.Delete(report);
        var again = Hil.Run("report", batch);
        Assert.That(again.Code, Is.Zero, again.Errors);
        Assert.That(again.Output.TrimEnd().Split('\n')[^1], Is.EqualTo(report));
        Assert.That(File.ReadAllText(report), Is.EqualTo(live));
    }

    [Test]
    public void AGridThatIsTooLargeIsRefusedWithARemedyBeforeAnythingIsPlayed()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("s.yaml"), $"scenario: s\nstimulus: [{{play: \"{Morning}\"}}]\nvary: {{grid: {{rotate: {{x: 0 deg to 100 deg by 1 deg}}, scale: 0.5 to 1.5 by 0.1}}}}\n");
        var result = Hil.Run("run", folder.File("s.yaml"), "--rig", "rigs/virtual.yaml", "--out", folder.File("runs"));
        Assert.That(result.Code, Is.EqualTo(65));
        Assert.That(result.Errors, Does.Contain("101 × 11 = 1111 combinations; expected at most 1000; take fewer values, or draw some of them"));
        Assert.That(Directory.Exists(folder.File("runs")), Is.False);
    }
}
