using System.Text.Json;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>How long a night takes, before it starts.</summary>
public class NightPlanTests
{
    private const int Scenarios = 8;
    private TemporaryFolder _folder = null!;

    [SetUp]
    public void SetUp()
    {
        _folder = TestPaths.NewFolder();
        MadeBelts.Write(_folder, Scenarios);
    }

    [TearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void WhatWasNotPlayedBeforeTakesAsLongAsItsMotion()
    {
        var plan = Plan();
        Assert.That((plan.GetProperty("runs").GetInt32(), plan.GetProperty("known").GetInt32()), Is.EqualTo((Scenarios, 0)));
        Assert.That(plan.GetProperty("takes_s").GetDouble(), Is.EqualTo(Scenarios * (3 + 6)), "each a lead of 3 s and a motion of 6 s");
        Assert.That(Plan("--speed", "2x").GetProperty("takes_s").GetDouble(), Is.EqualTo(Scenarios * (3 + 6) / 2.0));
        Assert.That(Directory.Exists(_folder.File("runs")), Is.False, "nothing is played, and nothing written");
    }

    [Test]
    public void WhatWasPlayedBeforeTakesAsLongAsItDid()
    {
        Assert.That(Run("--quiet").Code, Is.Zero);
        var durations = Directory.GetFiles(_folder.File("runs"), "run.yaml", SearchOption.AllDirectories).Select(File.ReadAllLines)
            .Select(lines => At(lines, "ended: ") - At(lines, "started: ")).ToList();
        Assert.That(durations, Has.Count.EqualTo(Scenarios));
        var plan = Plan();
        Assert.That((plan.GetProperty("runs").GetInt32(), plan.GetProperty("known").GetInt32()), Is.EqualTo((Scenarios, Scenarios)));
        Assert.That(plan.GetProperty("takes_s").GetDouble(), Is.EqualTo(durations.Sum(d => d.TotalSeconds)).Within(0.06), "to a millisecond a run, and a tenth in all");
        Assert.That(plan.GetProperty("disk").GetProperty("needed_bytes").GetInt64(), Is.EqualTo(RunBytes()).Within(Scenarios));
        Assert.That(Plan("--speed", "4x").GetProperty("known").GetInt32(), Is.Zero, "at another speed nothing is known");
    }

    [Test]
    public void RunsAreSharedOutOverTheRigs()
    {
        Directory.CreateDirectory(_folder.File("rigs"));
        foreach (string name in (string[])["bench-1", "bench-2"])
        {
            string text = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml")).Replace("rig: virtual", $"rig: {name}", StringComparison.Ordinal).Replace("../scenarios", Path.Combine(TestPaths.Root, "scenarios"), StringComparison.Ordinal);
            File.WriteAllText(_folder.File($"rigs/{name}.yaml"), text);
        }
        var result = Hil.Run("run", _folder.File("suite.yaml"), "--rig", _folder.File("rigs"), "--out", _folder.File("runs"), "--plan-only");
        Assert.That(result.Code, Is.Zero, result.Errors);
        Assert.That(result.Output, Does.Match(@"bench-1 +4 +at most about 36\.0 s +0 of 4").And.Match(@"bench-2 +4 +at most about 36\.0 s +0 of 4"));
        Assert.That(result.Output, Does.Match(@"8 runs on 2 rigs, at most about 36\.0 s: done by about .*\d\d:\d\d\n"));
    }

    [Test]
    public void WhatCannotRunFasterThanRealTimeIsNamed()
    {
        File.WriteAllText(_folder.File("reported.yaml"), "scenario: reported soon\nstimulus: [{synth: {rest: 2 s, class: resting}}]\nlimits: [{measure: report_latency, statistic: p95, at_most: 0.1 s}]\n");
        Assert.That(Hil.Run("run", _folder.File("suite.yaml"), _folder.File("reported.yaml"), "--rig", "rigs/virtual.yaml", "--out", _folder.File("runs"), "--plan-only").Output,
            Does.Contain("Not faster than real time: reported soon: it limits the report latency, which is defined in real time alone."));
        string rig = _folder.File("slow.yaml");
        File.WriteAllText(rig, File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml")).Replace("../scenarios", Path.Combine(TestPaths.Root, "scenarios"), StringComparison.Ordinal).Replace("    credit: '^k (?<n>\\d+)$'\n", "", StringComparison.Ordinal));
        Assert.That(Hil.Run("run", _folder.File("suite.yaml"), "--rig", rig, "--out", _folder.File("runs"), "--plan-only").Output,
            Does.Contain("Not faster than real time: part 1, part 2, part 3 and 5 more: the device gives no credit."));
    }

    private long RunBytes() => Scenarios * (long)Directory.GetFiles(_folder.File("runs"), "run.yaml", SearchOption.AllDirectories).Average(run => new DirectoryInfo(Path.GetDirectoryName(run)!).EnumerateFiles().Sum(f => f.Length));

    private static DateTimeOffset At(string[] lines, string key) => DateTimeOffset.Parse(lines.First(l => l.StartsWith(key, StringComparison.Ordinal))[key.Length..].Trim('"', '\''), System.Globalization.CultureInfo.InvariantCulture);

    private JsonElement Plan(params string[] more)
    {
        var result = Run(["--plan-only", "--json", .. more]);
        Assert.That(result.Code, Is.Zero, result.Errors);
        return JsonDocument.Parse(result.Output).RootElement;
    }

    private HilResult Run(params string[] more) => Hil.Run(["run", _folder.File("suite.yaml"), "--rig", "rigs/virtual.yaml", "--out", _folder.File("runs"), .. more]);
}
