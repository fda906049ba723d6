using System.Text.Json;
using System.Text.RegularExpressions;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>A claim on false alarms an hour: before anything is played, and over what was played.</summary>
public sealed class FalseAlarmClaimTests
{
    private const string Drops = """
        scenario: drops
        stimulus: [{play: drops.csv}]
        events: [dropped]
        lead: 3 s
        grace: 2 s
        within: 4 s

        """;

    [Test]
    public void ThePlanSaysHowManyHoursItTakesAndHowManyThereAre()
    {
        using var folder = TestPaths.NewFolder();
        string plan = Plan(folder, "at_most: 1", scenarios: 2);
        var told = Hil.Run("accept", plan, "--rig", "rigs/virtual.yaml", "--plan-only");
        Assert.That(told.Code, Is.EqualTo(2), told.Output + told.Errors);
        // −ln(0.1) = 2.3026 h without one; the recording, played by both scenarios, is heard once.
        Assert.That(OneLine(told.Output), Does.Match(
            @"false_alarms_per_hour dropped ≤ 1 with confidence 0\.9: cannot be shown\. Record 2\.\d\d? h more of other motion\."));
        var json = JsonDocument.Parse(Hil.Run("accept", plan, "--rig", "rigs/virtual.yaml", "--plan-only", "--json").Output);
        var hours = json.RootElement.GetProperty("claims")[0].GetProperty("hours");
        Assert.That(hours.GetProperty("needed_by_alarms")[0].GetDouble(), Is.EqualTo(Math.Log(10)).Within(1e-9));
        double played = json.RootElement.GetProperty("played_s").GetDouble();
        double given = hours.GetProperty("given").GetDouble() * 3600;
        Assert.That(given, Is.LessThan(played / 2).And.GreaterThan(played / 2 - 4), "less a lead of 3 s");

        var never = Hil.Run("accept", Plan(folder, "at_most: 0", scenarios: 1), "--rig", "rigs/virtual.yaml", "--plan-only");
        Assert.That(OneLine(never.Output), Does.Contain("no time shows that there are none at all"));
    }

    [TestCase("at_most: 1000", 0, "held")]
    [TestCase("at_most: 20", 2, "open")]
    public void WhatWasPlayedShowsSoManyAnHour(string bound, int code, string outcome)
    {
        using var folder = TestPaths.NewFolder();
        var done = Hil.Run("accept", Plan(folder, bound, scenarios: 2), "--rig", "rigs/virtual.yaml", "--out",
            folder.File("runs"), "--json");
        Assert.That(done.Code, Is.EqualTo(code), done.Output + done.Errors);
        var claim = JsonDocument.Parse(done.Output).RootElement.GetProperty("claims")[0];
        var heard = claim.GetProperty("heard");
        Assert.That(claim.GetProperty("outcome").GetString(), Is.EqualTo(outcome));
        double once = heard.GetProperty("once_s").GetDouble();
        Assert.That(heard.GetProperty("all_s").GetDouble(), Is.EqualTo(2 * once).Within(1e-6),
            "two scenarios play one recording");
        Assert.That(claim.GetProperty("shown").GetDouble(), Is.EqualTo(Math.Log(10) * 3600 / once).Within(1e-6));
        string batch = Directory.GetFiles(folder.File("runs"), "evidence.html", SearchOption.AllDirectories).Single();
        Assert.That(File.ReadAllText(batch),
            Does.Match(@"0 false alarms in [\d.]+ s of motion, each stretch once: shows at most \d+(\.\d+)? an hour at 90 %"));
        string report = File.ReadAllText(Path.Combine(Path.GetDirectoryName(batch)!, "report.html"));
        Assert.That(report, Does.Contain("each stretch of a recording once, in the play with the most alarms for its length"));
    }

    [Test]
    public void ASuiteThatAsksForNoFalseAlarmsAloneIsPassedByADeviceThatSaysNothing()
    {
        using var folder = TestPaths.NewFolder();
        string plan = Plan(folder, "at_most: 1000", scenarios: 1, meant: false);
        var refused = Hil.Run("accept", plan, "--rig", "rigs/virtual.yaml", "--plan-only");
        Assert.That(refused.Code, Is.EqualTo(65), refused.Output);
        Assert.That(refused.Errors,
            Does.Match(@"a device that hears nothing would pass \(saying nothing\): missing is a claim on recognised of"));
    }

    [TestCase("{measure: false_alarms_per_hour, class: dropped, at_least: 1, confidence: 0.9}")]
    [TestCase("{measure: chatter_per_minute, at_most: 1, confidence: 0.9}")]
    public void AClaimThatNoTimeBoundsIsRefused(string claim)
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("plan.yaml"), $"acceptance: x\nscenarios: [a.yaml]\nclaims:\n  - {claim}\n");
        var refused = Hil.Run("accept", folder.File("plan.yaml"), "--rig", "rigs/virtual.yaml", "--plan-only");
        Assert.That(refused.Code, Is.EqualTo(65));
        Assert.That(OneLine(refused.Errors), Does.Contain("with at_most of false_alarms_per_hour"));
    }

    private static string Plan(TemporaryFolder folder, string bound, int scenarios, bool meant = true)
    {
        string recordings = Path.Combine(TestPaths.Root, "scenarios/parcel/recordings");
        foreach (string path in Directory.GetFiles(recordings, "drops.*"))
        {
            File.Copy(path, folder.File(Path.GetFileName(path)), overwrite: true);
        }
        string[] names = [.. Enumerable.Range(1, scenarios).Select(i => $"drops-{i}.scenario.yaml")];
        foreach (string name in names)
        {
            File.WriteAllText(folder.File(name), Drops.Replace("scenario: drops", $"scenario: {name}"));
        }
        File.WriteAllText(folder.File("plan.yaml"),
            $"acceptance: quiet\nhold: 500 ms\n{(meant ? "hearing_nothing: accepted\n" : "")}scenarios: [{string.Join(", ", names)}]\n"
            + $"claims:\n  - {{measure: false_alarms_per_hour, class: dropped, {bound}, confidence: 0.9}}\n");
        return folder.File("plan.yaml");
    }

    private static string OneLine(string text) => Regex.Replace(text, @"\s+", " ");
}
