using System.Text.Json;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>Scoring of any log with no device, through the command line.</summary>
public class ScoreLogTests
{
    // The worked example of the scoring definitions (src/HilRunner.Scoring/README.md): every figure follows from them.
    private const string Expected = "start_s,end_s,class\n0,10,resting\n10,30,carried\n30,40,resting\n40,60,conveyed\n";
    private const string Decisions = "t_s,class\n2,resting\n13,carried\n20,conveyed\n21,carried\n33,resting\n45,carried\n48,conveyed\n";

    [Test]
    public void TheWorkedExampleComesOut()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("e.csv"), Expected);
        File.WriteAllText(folder.File("d.csv"), Decisions);
        var result = Hil.Run("score", "--expected", folder.File("e.csv"), "--decisions", folder.File("d.csv"), "--end", "60s", "--json");
        Assert.That(result.Code, Is.EqualTo(2), "no limit was given: nothing was judged");
        using var score = JsonDocument.Parse(result.Output);
        var strict = score.RootElement.GetProperty("strict");
        Assert.That(strict.GetProperty("accuracy").GetDouble(), Is.EqualTo(43.0 / 60).Within(1e-12));
        Assert.That(strict.GetProperty("kappa").GetDouble(), Is.EqualTo(0.58197).Within(5e-6));
        Assert.That(strict.GetProperty("mcc").GetDouble(), Is.EqualTo(0.58995).Within(5e-6));
        Assert.That(score.RootElement.GetProperty("changes").GetProperty("median_dwell_s").GetDouble(), Is.EqualTo(7));
    }

    [Test]
    public void LimitsDecideTheExitCode()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("e.csv"), Expected);
        File.WriteAllText(folder.File("d.csv"), Decisions);
        File.WriteAllText(folder.File("limits.yaml"), "limits:\n  - {measure: reaction, class: conveyed, statistic: max, at_most: 5 s}\n");
        var result = Hil.Run(
            "score", "--expected", folder.File("e.csv"), "--decisions", folder.File("d.csv"), "--end", "60s", "--limits", folder.File("limits.yaml"));
        Assert.That(result.Code, Is.EqualTo(1), result.Errors);
        Assert.That(result.Output, Does.Contain("fail").And.Contain("8"));
    }

    [Test]
    public void ABadRowIsNamed()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("e.csv"), Expected.Replace("30,40", "25,40", StringComparison.Ordinal));
        File.WriteAllText(folder.File("d.csv"), Decisions);
        var result = Hil.Run("score", "--expected", folder.File("e.csv"), "--decisions", folder.File("d.csv"), "--end", "60s");
        Assert.That(result.Code, Is.EqualTo(65));
        Assert.That(result.Errors, Does.Contain("e.csv:4"));
    }
}
