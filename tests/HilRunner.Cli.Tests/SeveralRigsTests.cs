using System.Diagnostics;
using System.Text.Json;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>A suite shared out over several rigs of one kind: one verdict, one report; a rig that fails does not take the others with it.</summary>
public class SeveralRigsTests
{
    private const int Scenarios = 8;
    private TemporaryFolder _folder = null!;

    [SetUp]
    public void SetUp()
    {
        _folder = TestPaths.NewFolder();
        MadeBelts.Write(_folder, Scenarios);
        Directory.CreateDirectory(_folder.File("rigs"));
    }

    [TearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void EveryScenarioIsPlayedOnceOnWhicheverRigIsFree()
    {
        for (int i = 1; i <= 3; i++) { Rig($"bench-{i}"); }
        var result = Run("--rig", _folder.File("rigs"));
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        var runs = Runs(result);
        Assert.That(runs.Select(r => r.Scenario), Is.EquivalentTo(Enumerable.Range(1, Scenarios).Select(i => $"part {i}")));
        Assert.That(runs.Select(r => r.Rig).Distinct().Count(), Is.EqualTo(3), "each had some");
        Assert.That(result.Errors, Does.Match(@"pass  part \d \(1\) on bench-\d"));
        string batch = Directory.GetDirectories(_folder.File("runs")).Single(), report = File.ReadAllText(Path.Combine(batch, "report.html"));
        Assert.That(report, Does.Contain("8 of 8 independent trials recognised"));
        Assert.That(Hil.Run("report", batch).Code, Is.Zero);
        Assert.That(File.ReadAllText(Path.Combine(batch, "report.html")), Is.EqualTo(report), "the same from what is stored");
    }

    [TestCase("wrong build")]
    [TestCase("missing")]
    public void ARigThatCannotPlayLeavesItsScenariosToTheOthers(string fault)
    {
        Rig("bench-1");
        Rig("bench-2", text => fault == "missing"
            ? System.Text.RegularExpressions.Regex.Replace(text, @"link: \{builtin.*\}\}", "link: {pty: /no/such/port}")
            : text.Replace("version: 1.0.0}", "version: 0.9}", StringComparison.Ordinal).Replace("identity: {ask", "identity: {same: [version], ask", StringComparison.Ordinal));
        var result = Run("--rig", _folder.File("rigs"), "--build", "1.0.0");
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        Assert.That(Runs(result).Where(r => !r.Again).Select(r => (r.Scenario, r.Rig)), Is.EquivalentTo(Enumerable.Range(1, Scenarios).Select(i => ($"part {i}", "bench-1"))));
        Assert.That(Runs(result).Where(r => r.Again).Select(r => r.Rig), Has.Exactly(fault == "missing" ? 2 : 1).EqualTo("bench-2").And.All.EqualTo("bench-2"));
        Assert.That(result.Errors, Does.Contain("on bench-2"));
    }

    [Test]
    public void WithNoRigLeftTheBatchIsAnErrorThatNamesThem()
    {
        foreach (string name in (string[])["bench-1", "bench-2"]) { Rig(name, text => System.Text.RegularExpressions.Regex.Replace(text, @"link: \{builtin.*\}\}", $"link: {{pty: /no/such/{name}}}")); }
        var result = Run("--rig", _folder.File("rigs"));
        Assert.That(result.Code, Is.EqualTo(3), result.Output);
        string reason = JsonDocument.Parse(result.Output).RootElement.GetProperty("reasons")[0].GetString()!;
        Assert.That(reason, Does.Contain("rig bench-1: ").And.Contain("rig bench-2: ").And.Contain("/no/such/bench-2"));
    }

    [Test]
    public void AStuckRigDoesNotSlowTheOthers()
    {
        // Bench 2 hangs in its first scenario, and its health takes 10 s to say so.
        Rig("bench-1");
        Rig("bench-2", text => text.Replace("version: 1.0.0}", "version: 1.0.0, hang_at: 400}", StringComparison.Ordinal));
        var watch = Stopwatch.StartNew();
        var result = Run("--rig", _folder.File("rigs"));
        Assert.That(result.Code, Is.Zero, "nothing shows that the device hangs and not its link: another rig plays what it had");
        var runs = Runs(result);
        Assert.That(runs.Count(r => r.Rig == "bench-1"), Is.GreaterThanOrEqualTo(Scenarios));
        Assert.That(runs.Select(r => r.Scenario).Distinct().Count(), Is.EqualTo(Scenarios));
        Assert.That(result.Output + result.Errors, Does.Contain("fell silent"), "the night's record says so");
        TestContext.Out.WriteLine($"{watch.Elapsed.TotalSeconds:0.0} s");
    }

    [Test]
    public void RigsThatAreNotAlikeAreRefused()
    {
        Rig("bench-1");
        Rig("bench-2", text => text.Replace("rate: 100 Hz", "rate: 50 Hz", StringComparison.Ordinal));
        File.Copy(_folder.File("rigs/bench-1.yaml"), _folder.File("rigs/bench-3.yaml"));
        var result = Run("--rig", _folder.File("rigs"));
        Assert.That(result.Code, Is.EqualTo(65));
        Assert.That(result.Errors, Does.Contain("bench-2.yaml: a rig of another kind than").And.Contain("bench-3.yaml: a second rig named bench-1"));
        Assert.That(Run("--rig", _folder.File("rigs/bench-1.yaml"), "--rig", "rigs/virtual.yaml", "--link", "builtin:lines?model=x").Code, Is.EqualTo(64));
        foreach (string name in (string[])["bench-2", "bench-3"]) { Rig(name, text => System.Text.RegularExpressions.Regex.Replace(text, @"link: \{builtin.*\}\}", "link: {tcp: \"127.0.0.1:9\"}")); }
        Assert.That(Run("--rig", _folder.File("rigs")).Errors, Does.Contain("bench-3.yaml: a rig on 127.0.0.1:9, as bench-2 is; expected a port for each"));
        Assert.That(Run("--rig", _folder.File("none")).Errors, Does.Contain("no such file; expected a rig file"));
    }

    private void Rig(string name, Func<string, string>? change = null)
    {
        string text = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml"))
            .Replace("rig: virtual", "rig: " + name, StringComparison.Ordinal)
            .Replace("../scenarios/parcel/model.yaml", Path.Combine(TestPaths.Root, "scenarios", "parcel", "model.yaml"), StringComparison.Ordinal);
        File.WriteAllText(_folder.File($"rigs/{name}.yaml"), change?.Invoke(text) ?? text);
    }

    private HilResult Run(params string[] options) => Hil.Run(["run", _folder.File("suite.yaml"), "--out", _folder.File("runs"), "--json", .. options]);

    private static List<(string Scenario, string Rig, bool Again)> Runs(HilResult result) =>
    [
        .. JsonDocument.Parse(result.Output).RootElement.GetProperty("runs").EnumerateArray().Select(r => (
            r.GetProperty("scenario").GetString()!,
            System.Text.RegularExpressions.Regex.Match(File.ReadAllText(Path.Combine(Path.GetDirectoryName(r.GetProperty("report").GetString()!)!, "run.yaml")), @"rig: (bench-\d)").Groups[1].Value,
            r.GetProperty("played_again").GetBoolean())),
    ];
}
