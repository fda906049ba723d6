using System.Globalization;
using System.Text.Json;
using HilRunner.Core.Runs;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>Scenarios on the simulated table, by the real executable, with a device that rides on it.</summary>
[Parallelizable(ParallelScope.All)]
[FixtureLifeCycle(LifeCycle.InstancePerTestCase)]
public class TablePlayTests
{
    private const string Model = "scenarios/parcel/model.yaml";
    private readonly TableFixture _table = new();

    [TearDown]
    public void TearDown() => _table.Dispose();

    /// <summary>A fan with weights (Scalabrini Sampaio and others, Sensors 19(19):4342, 2019), slow and fast, across its axis.</summary>
    [Test]
    public void ARealRecordingEndsInTheSameClassesAsByInjectionOrItWasSaidBeforehand()
    {
        string scenario = Fan((30_000, "still"), (42_000, "fast"));
        _table.Start();
        var moved = Run(scenario);
        string run = _table.RunFolder;
        Assert.That(moved.Code, Is.EqualTo(2), moved.Output + moved.Errors);
        var trials = JsonDocument.Parse(File.ReadAllText(Path.Combine(run, RunFiles.TableRecord))).RootElement.GetProperty("trials").EnumerateArray().ToArray();
        Assert.That(trials, Has.Length.EqualTo(2));
        var decisions = DecisionsFile.Read(Path.Combine(run, RunFiles.Decisions)).OrderBy(d => d.Time.Ns).ToList();
        int same = 0;
        foreach (var (trial, expected) in trials.Zip(ExpectedFile.Read(Path.Combine(run, RunFiles.Expected))))
        {
            // In the middle of the trial, when every window is the trial's own.
            var middle = (expected.Start.Ns + expected.End.Ns) / 2;
            string? device = decisions.LastOrDefault(d => d.Time.Ns <= middle + 2_000_000_000)?.Class, injected = trial.GetProperty("injected").GetString(), onTable = trial.GetProperty("on_table").GetString();
            Assert.That(device, Is.EqualTo(onTable), $"trial {trial.GetProperty("trial")}: as was said beforehand");
            if (injected != onTable) { Assert.That(moved.Errors, Does.Contain($"as {onTable} on the table and as {injected} injected: the table cannot show it")); }
            same += injected == onTable ? 1 : 0;
        }
        Assert.That(same, Is.EqualTo(1), "the fast one is shown, the slow one lies across the table's axis");
        Assert.That(moved.Output.ReplaceLineEndings(" "), Does.Contain("inconc").And.Contain("the table cannot show trial 1"));
        var injection = Hil.Run("run", scenario, "--rig", "rigs/virtual.yaml", "--out", _table.File("injected"), "--quiet");
        Assert.That(injection.Code, Is.Zero, injection.Errors);
        Assert.That(DecisionsFile.Read(Directory.GetFiles(_table.File("injected"), RunFiles.Decisions, SearchOption.AllDirectories).Single())[^1].Class, Is.EqualTo(trials[1].GetProperty("injected").GetString()));
        string report = File.ReadAllText(Path.Combine(run, RunFiles.Report));
        Assert.That(report, Does.Contain("Moved by the table").And.Contain("ISO 13850").And.Contain("coherence").And.Contain("What the device felt of it, by frequency").And.Contain("The rig's table moved the device along z"));
        _table.AssertAtRest();
        // Scored again from its folder: the same bytes.
        byte[] before = File.ReadAllBytes(Path.Combine(run, RunFiles.Score));
        Hil.Run("score", run);
        Assert.That(File.ReadAllBytes(Path.Combine(run, RunFiles.Score)), Is.EqualTo(before));
    }

    /// <summary>
    /// A person stands and walks (Reyes-Ortiz and others, Smartphone-Based Recognition of Human Activities and Postural Transitions, 2015): the table has no room for the step itself at 1.8 Hz, but for what the
    /// step shakes, and the device sees the same.
    /// </summary>
    [Test]
    public void ARealWalkIsSeenAsByInjection()
    {
        string data = Path.GetDirectoryName(Path.GetDirectoryName(TestPaths.OpenData("activity/labels.txt")))!;
        string whole = File.ReadAllText(Path.Combine(TestPaths.Root, "scenarios", "open-data", "person-01.yaml")).Replace("${HIL_OPEN_DATA}", data, StringComparison.Ordinal);
        const string play = "acc_exp01_user01.txt\n";
        Assert.That(whole, Does.Contain(play));
        string scenario = _table.File("walk.yaml"), rig = _table.Rig(), model = Path.Combine(TestPaths.Root, "scenarios", "open-data", "model.yaml");
        File.WriteAllText(scenario, whole[..whole.IndexOf("limits:", StringComparison.Ordinal)].Replace(play, play + "    from: 148 s\n    to: 166 s\n", StringComparison.Ordinal) + "limits: [{measure: missed, at_most: 0}]\n");
        File.WriteAllText(rig, File.ReadAllText(rig).Replace("rate: 100 Hz, channels", "rate: 50 Hz, channels", StringComparison.Ordinal).Replace("classes: {resting: resting, carried: carried, conveyed: conveyed, dropped: dropped}", "classes: {walking: walking, upright: upright, lying: lying}", StringComparison.Ordinal).Replace("  axis: z", "  axis: x\n  up: x", StringComparison.Ordinal));
        _table.Start("--model", model, "--axis", "x", "--up", "x");
        HilResult moved;
        // A machine that is held up as the table begins makes the run inconclusive, and is right to: then it is played anew.
        for (int attempt = 1; ; attempt++)
        {
            moved = Hil.Run("run", scenario, "--rig", rig, "--shaker", "--interlock-answers", "--host-model", model, "--out",
                _table.File("out"));
            if (moved.Code != 2 || attempt == 3 || !moved.Errors.Contains("later than the run's time says", StringComparison.Ordinal)) { break; }
            Directory.Delete(_table.File("out"), recursive: true);
        }
        Assert.That(moved.Code, Is.Zero, moved.Output + moved.Errors);
        Assert.That(moved.Errors, Does.Contain("mostly lost: 0–2 Hz").And.Contain("sees the same classes on the table as injected"));
        var injected = Hil.Run("run", scenario, "--rig", "rigs/virtual-activity.yaml", "--out", _table.File("injected"), "--quiet");
        Assert.That(injected.Code, Is.Zero, injected.Output + injected.Errors);
        string[] byInjection = Classes(Directory.GetFiles(_table.File("injected"), RunFiles.Decisions, SearchOption.AllDirectories).Single());
        Assert.That(byInjection, Has.Length.GreaterThan(1), "the cut must hold a change");
        Assert.That(Classes(Path.Combine(_table.RunFolder, RunFiles.Decisions)), Is.EqualTo(byInjection));
        _table.AssertAtRest();
        _table.AssertInsideTheEnvelope();
    }

    /// <summary>Made smaller, it is no longer what it was: said, without moving anything.</summary>
    [Test]
    public void WhatDoesNotFitIsRefusedAndFittedOnlyWhenAsked()
    {
        string drops = Path.Combine(TestPaths.Root, "scenarios", "parcel", "drops.yaml");
        var refused = Hil.Run("run", drops, "--rig", _table.Rig(), "--shaker", "--plan-only", "--host-model", Model);
        Assert.That((refused.Code, refused.Errors), Is.EqualTo((65, refused.Errors)));
        Assert.That(refused.Errors, Does.Contain("a motion that rig shaker-sim's table must not make").And.Contain("mm either side").And.Contain("--fit scale"));
        var scaled = Hil.Run("run", drops, "--rig", _table.Rig(), "--shaker", "--plan-only", "--host-model", Model, "--fit", "scale");
        Assert.That(scaled.Code, Is.Zero, scaled.Errors);
        Assert.That(scaled.Errors, Does.Contain("times as large to fit").And.Contain("mostly lost: 0–2 Hz"));
    }

    private static string[] Classes(string decisions) => [.. DecisionsFile.Read(decisions).OrderBy(d => d.Time.Ns).Select(d => d.Class)];

    [Test]
    public void WhatCannotBeIsRefusedBeforeTheTableIsSpokenTo()
    {
        string tone = Tone("level: 0.1 g"), rig = _table.Rig();
        foreach (var (arguments, code, said) in new (string[], int, string)[]
        {
            (["--shaker"], 64, "nobody is at a terminal"), (["--interlock-answers"], 64, "go with --shaker"),
                (["--armed"], 64, "--armed is called --interlock-answers now, which is what it says: nobody is asked"),
                (["--shaker", "--interlock-answers", "--fit", "squeeze"], 64, "expected scale or filter"),
                (["--shaker", "--interlock-answers", "--speed", "max"], 64, "moves in real time"),
        })
        {
            var refused = Hil.Run(["run", tone, "--rig", rig, .. arguments]);
            Assert.That((refused.Code, refused.Errors), Is.EqualTo((code, refused.Errors)));
            Assert.That(refused.Errors, Does.Contain(said));
        }
        var none = Hil.Run("run", tone, "--rig", "rigs/virtual.yaml", "--shaker", "--interlock-answers");
        Assert.That((none.Code, none.Errors), Is.EqualTo((64, "hil: --shaker: rig virtual has no shaker; rigs/README.md says how to describe one\n")));
        File.WriteAllText(_table.File("sines.yaml"), string.Join('\n', File.ReadLines(rig).Where(l => !l.StartsWith("  stream:", StringComparison.Ordinal))));
        Assert.That(Hil.Run("run", tone, "--rig", _table.File("sines.yaml"), "--shaker", "--interlock-answers").Errors,
            Does.Contain("knows sines alone"));
        File.WriteAllText(_table.File("slow.yaml"), File.ReadAllText(rig).Replace("stream: {rate: 1000 Hz", "stream: {rate: 700 Hz", StringComparison.Ordinal));
        Assert.That(Hil.Run("check", _table.File("slow.yaml"), "--offline").Errors, Does.Contain("at least 8 for each hertz"));
    }

    /// <summary>Nothing is sent any more in the middle of a stream: what is buffered fades out within the watchdog.</summary>
    [Test]
    public void KilledWhileItPlaysPositionsTheTableRests()
    {
        _table.Start();
        using var hil = _table.StartMoving(0.15, () => Hil.Start("run", Tone("level: 0.2 g"), "--rig", _table.Rig(), "--shaker",
            "--interlock-answers", "--out", _table.File("out")));
        hil.Kill();
        double killed = DateTimeOffset.UtcNow.ToUnixTimeMilliseconds() / 1000.0;
        hil.WaitForExit();
        Hil.Await(() => TableFixture.IsAtRest(_table.Trace()), "rest");
        double last = _table.Trace().Where(r => Math.Abs(r.G) > TableFixture.RestG).Max(r => r.UnixS);
        TestContext.Out.WriteLine(string.Create(CultureInfo.InvariantCulture, $"at rest {last - killed:0.000} s after the kill"));
        Assert.That(last - killed, Is.LessThan(TableFixture.WatchdogS + 0.1 + 0.25));
    }

    // It jams: the jolt stops the table, where it is one; what was measured says it afterwards in any case.
    [TestCase("stuck@25s", "")]
    [TestCase("limit@25s", "limit: it was stopped")]
    public void ATableThatFailsIsNotTheDevicesFault(string fault, string said)
    {
        _table.Start("--fault", fault);
        // The device would be at fault: nothing of this is ever called carried.
        var result = Run(Tone("level: 0.2 g"), withModel: false);
        // 3: the batch was broken off by its rig.
        Assert.That(result.Code, said.Length > 0 ? Is.EqualTo(3) : Is.EqualTo(2).Or.EqualTo(3), result.Output + result.Errors);
        Assert.That(result.Output, Does.Contain("  inconc    a tone"));
        Assert.That(File.ReadAllText(Path.Combine(_table.RunFolder, RunFiles.Report)), Does.Contain("This run cannot be held against the device").And.Contain(said));
        _table.AssertAtRest();
        _table.AssertInsideTheEnvelope();
    }

    private HilResult Run(string scenario, bool withModel = true) =>
        Hil.Run(["run", scenario, "--rig", _table.Rig(), "--shaker", "--interlock-answers", "--out", _table.File("out"),
        .. withModel ? (string[])["--host-model", Model] : []]);

    private string Tone(string level)
    {
        string path = _table.File("tone.yaml");
        File.WriteAllText(path, $"scenario: a tone\nstimulus:\n  - synth: {{tone: 16 Hz, peak: {level[7..]}, axis: z, for: 12 s, class: carried}}\nlimits: [{{measure: recall, class: carried, at_least: 0.9}}]\n");
        return path;
    }

    /// <summary>Eight seconds of each row on, gravity along x there made the tag's z.</summary>
    private string Fan(params (int Row, string Label)[] parts)
    {
        string[] rows = File.ReadAllLines(TestPaths.OpenData("vibration/fan.csv"))[1..];
        var samples = parts.SelectMany(p => rows.Skip(p.Row + 500).Take(400)).Select(l => l.Split(',')).Select(f => $"{f[4]},{f[3]},{f[2]}");
        File.WriteAllText(_table.File("fan.csv"), $"ax_g,ay_g,az_g\n{string.Join('\n', samples)}\n");
        File.WriteAllText(_table.File("fan.yaml"), "rate: 50 Hz\n");
        File.WriteAllText(_table.File("fan.labels.csv"), $"start_s,end_s,class\n{string.Join('\n', parts.Select((p, i) => $"{8 * i},{8 * i + 8},{p.Label}"))}\n");
        string scenario = _table.File("fan.scenario.yaml");
        File.WriteAllText(scenario, "scenario: a fan with weights\nstimulus: [{play: fan.csv}]\nclasses: {still: resting, fast: conveyed}\nlimits: [{measure: missed, at_most: 9}]\n");
        return scenario;
    }
}
