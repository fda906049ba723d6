using System.Text.Json;
using System.Text.RegularExpressions;
using System.Xml.Linq;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>Limits over all trials of a suite, from the suite's file to exit code, terminal, JUnit XML and report; and the same when scored again.</summary>
public class PooledLimitTests
{
    // Six made signals, all recognised: 0.1^(1/6) = 0.681 at 90 % (Clopper and Pearson 1934 with no failure).
    [TestCase("{measure: recognised, at_least: 0.68, confidence: 0.9}", 0, "held: 6 of 6 independent trials recognised: shows at least 0.681 at 90 %")]
    [TestCase("{measure: recognised, at_least: 0.9, confidence: 0.9}", 2, "open: 6 of 6 independent trials recognised: shows at least 0.681 at 90 %; 22 with no failures would do")]
    [TestCase("{measure: reaction, class: conveyed, statistic: p50, at_most: 100 ms, confidence: 0.85}", 1, "broken: 3 independent trials: show p50 at least 0.77 s at 85 %")]
    public void ASuitesLimitDecidesItsVerdict(string limit, int code, string words)
    {
        using var folder = TestPaths.NewFolder();
        WriteSuite(folder, limit);
        var result = Hil.Run("run", folder.File("suite.yaml"), "--rig", "rigs/virtual.yaml", "--out", folder.File("runs"), "--junit", folder.File("junit.xml"));
        Assert.That(result.Code, Is.EqualTo(code), result.Output + result.Errors);
        Assert.That(Cells(result.Output), Does.Contain(words));
        string batch = Directory.GetDirectories(folder.File("runs")).Single(), report = File.ReadAllText(Path.Combine(batch, "report.html"));
        var cases = XElement.Load(folder.File("junit.xml")).Descendants("testcase").Where(c => c.Attribute("name")!.Value.StartsWith("all trials together: ", StringComparison.Ordinal)).ToList();
        Assert.That(cases, Has.Count.EqualTo(1));
        Assert.That((cases[0].Element("failure") is not null, cases[0].Element("error") is not null), Is.EqualTo((code == 1, code == 2)));
        Assert.That(report, Does.Contain("Limits over all trials"));
        Assert.That(report, Does.Contain("one per labelled stretch, as the side files name no source"));

        var again = Hil.Run("score", batch);
        Assert.That(again.Code, Is.EqualTo(code), again.Output + again.Errors);
        Assert.That(Cells(again.Output), Does.Contain(words));
        Assert.That(File.ReadAllText(Path.Combine(batch, "report.html")), Is.EqualTo(report));
        Assert.That(Hil.Run("report", batch).Code, Is.Zero);
        Assert.That(File.ReadAllText(Path.Combine(batch, "report.html")), Is.EqualTo(report));
    }

    [Test]
    public void RepeatsAndOtherCutsOfARecordingAddNoTrials()
    {
        using var folder = TestPaths.NewFolder();
        string recording = Path.Combine(TestPaths.Root, "scenarios", "parcel", "recordings", "belt.csv");
        File.WriteAllText(folder.File("whole.yaml"), $"scenario: whole\nstimulus: [{{play: \"{recording}\"}}]\nlead: 3 s\nwithin: 4 s\nlimits: [{{measure: recognised, at_least: 0.05, confidence: 0.9}}]\n");
        File.WriteAllText(folder.File("cut.yaml"), $"scenario: cut\nstimulus: [{{play: \"{recording}\", from: 12 s, noise: 2 mg}}]\nlead: 3 s\nwithin: 4 s\nlimits: [{{measure: recognised, at_least: 0.05, confidence: 0.9}}]\n");
        var result = Hil.Run("run", folder.File("whole.yaml"), folder.File("cut.yaml"), "--rig", "rigs/virtual.yaml", "--repeat", "2", "--out", folder.File("runs"), "--json");
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        var pooled = JsonDocument.Parse(result.Output).RootElement.GetProperty("limits_over_all_trials").EnumerateArray().Single();
        Assert.That((pooled.GetProperty("independent").GetInt32(), pooled.GetProperty("rule").GetString()), Is.EqualTo((1, "one per source that the side files name")));
        Assert.That(pooled.GetProperty("plays").GetInt32(), Is.GreaterThan(8));
        Assert.That(pooled.GetProperty("shown").GetDouble(), Is.EqualTo(0.1).Within(1e-12), "one trial without a failure");
    }

    private static void WriteSuite(TemporaryFolder folder, string limit)
    {
        File.WriteAllText(folder.File("made.yaml"), """
            scenario: made
            stimulus:
              - synth: {rest: 8 s, class: resting}
              - synth: {tone: 16 Hz, peak: 0.3 g, axis: z, for: 8 s, class: conveyed}
              - synth: {rest: 9 s, class: resting}
              - synth: {tone: 14 Hz, peak: 0.3 g, axis: z, for: 8 s, class: conveyed}
              - synth: {rest: 10 s, class: resting}
              - synth: {tone: 15 Hz, peak: 0.3 g, axis: z, for: 8 s, class: conveyed}
            lead: 3 s
            within: 4 s
            limits: [{measure: missed, at_most: 0}]
            """);
        File.WriteAllText(folder.File("suite.yaml"), $"suite: made\nscenarios: [made.yaml]\nrepeats: 2\nlimits: [{limit}]\n");
    }

    /// <summary>The last column of the table, put together again.</summary>
    private static string Cells(string output)
    {
        string[] lines = output.Split('\n');
        int from = Array.FindIndex(lines, l => l.Contains("over all trials", StringComparison.Ordinal));
        Assert.That(from, Is.GreaterThanOrEqualTo(0), output);
        int column = lines[from].IndexOf("outcome", StringComparison.Ordinal);
        return Regex.Replace(string.Join(' ', lines[from..].Where(l => l.Length > column).Select(l => l[column..])), @"\s+", " ");
    }
}
