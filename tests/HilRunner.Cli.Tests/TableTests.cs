using System.Diagnostics;
using System.Globalization;
using System.Text.Json;
using HilRunner.Core.Files;
using HilRunner.Transport.Locks;

namespace HilRunner.Cli.Tests;

/// <summary>
/// The simulated table in a process of its own, a device that rides on it, and the real executable that drives it: whatever fails, the table comes to rest, and the device is not blamed.
/// </summary>
[Parallelizable(ParallelScope.All)]
[FixtureLifeCycle(LifeCycle.InstancePerTestCase)]
public class TableTests
{
    /// <summary>The lowest level of a first motion.</summary>
    private const double LowG = 0.03;
    /// <summary>Of a second-order system with half of critical damping: 1 + exp(−πζ/√(1 − ζ²)).</summary>
    private const double Overshoot = 1.163;
    /// <summary>A step of 0.02 g, taken up within 20 ms, adds 2 · 0.02 g / (20 ms · 2π · 16 Hz) while the amplitude grows.</summary>
    private const double TakeUpG = 0.02;
    private readonly TableFixture _table = new();

    [TearDown]
    public void TearDown() => _table.Dispose();

    [Test]
    public void ASweepByTheTableFindsTheSameAsOneByInjection()
    {
        _table.Start();
        var result = Sweep(Plan("peak: 20 mg to 100 mg by 20 mg", "dwell: 3 s"));
        Assert.That(result.Code, Is.EqualTo(2), result.Output + result.Errors);
        var json = Json();
        var up = json.GetProperty("points")[0].GetProperty("switches")[0].GetProperty("up").GetProperty("interval");
        Assert.Multiple(() =>
        {
            Assert.That(json.GetProperty("verdict").GetString(), Is.EqualTo("none"), json.GetProperty("reasons").ToString());
            // The parcel's model: 38 counts of 1 mg.
            Assert.That(38 * Math.Sqrt(2), Is.InRange(up.GetProperty("low").GetDouble() - 2, up.GetProperty("high").GetDouble() + 2));
            Assert.That(result.Errors, Does.Contain("ISO 13850").And.Contain("hands off").And.Contain("lithium"));
            Assert.That(File.ReadAllText(Path.Combine(SweepFolder, "report.html")), Does.Contain("The device rode on a table").And.Contain("ISO 13850"));
        });
        _table.AssertAtRest();
        _table.AssertInsideTheEnvelope();
        // How long it has moved is kept for the next call: had it been longer than it may, that would move nothing.
        string note = $"hil-moved-{FileHash.Sha256OfText(_table.File("at/table"))[..16]}-*.note",
            moved = Directory.GetFiles(LockFolder.Find().Path, note).Single();
        string[] kept = File.ReadAllText(moved).Split(' ', StringSplitOptions.RemoveEmptyEntries);
        Assert.That(double.Parse(kept[1], CultureInfo.InvariantCulture), Is.InRange(20, 60), "nine levels of three seconds and the ramps, and the low level");
        File.WriteAllText(moved, $"{DateTimeOffset.UtcNow.ToUnixTimeSeconds()} 2000");
        var tired = Hil.Run("sweep", Plan("peak: 20 mg to 100 mg by 20 mg", "dwell: 3 s"), "--rig", _table.Rig(), "--shaker",
            "--interlock-answers", "--out", _table.File("tired"));
        Assert.That(tired.Output.ReplaceLineEndings(" "), Does.Contain("it must rest for 300 s"));
        foreach (string left in Directory.GetFiles(Path.GetDirectoryName(moved)!, note)) { File.Delete(left); }
    }

    /// <summary>
    /// A table that makes five times what it is told at 24 Hz, and less and less above. At each frequency it is learnt low what
    /// it
    /// makes, and then told so that it makes what the plan wants.
    /// </summary>
    [Test]
    public void ASweepOverFrequencyGoesPastAResonance()
    {
        _table.Start("--natural", "24 Hz", "--damping", "0.1");
        string plan = Plan("peak: 100 mg", "dwell: 3 s");
        File.WriteAllText(plan, File.ReadAllText(plan)
            .Replace("tone: 16 Hz", "tone: 20 Hz to 30 Hz by 5 Hz", StringComparison.Ordinal));
        var result = Sweep(plan);
        Assert.That(Json().GetProperty("verdict").GetString(), Is.EqualTo("none"),
            Json().GetProperty("reasons").ToString() + result.Output + result.Errors);
        string table = Directory.GetFiles(SweepFolder, "table.csv", SearchOption.AllDirectories).Single();
        var levels = File.ReadLines(table).Skip(1).Select(l => l.Split(',')).Where(f => f[2] != "0")
            .GroupBy(f => f[1]).ToDictionary(g => g.Key, g => Number(g.Last()[3]));
        Assert.That(levels.Keys.Select(Number), Has.Some.LessThan(23.5).And.Some.InRange(23.5, 25.5).And.Some.GreaterThan(25.5));
        Assert.That(levels.Values, Has.All.InRange(0.085, 0.115), "what it measured at the end of each level: the plan's 15 %");
        // By its true motion: the wanted, half as much again and 50 mg, at which it would have been stopped.
        Assert.That(_table.Trace().Max(r => Math.Abs(r.G)), Is.LessThan(0.1 * 1.5 + 0.05));
        _table.AssertAtRest();

        static double Number(string text) => double.Parse(text, CultureInfo.InvariantCulture);
    }

    /// <summary>All of them with HIL_LONG=1; each is also tried on positions, in StreamDriveTests.</summary>
    private static readonly TestCaseData[] s_faults =
    [
        new("interlock@6500ms", "interlock: it was stopped"), new("lost@6500ms", "no answer to"),
            new("runaway@6500ms", "it was stopped"), new("stuck@0s", "does the sensor measure, and the table move?"),
        .. Environment.GetEnvironmentVariable("HIL_LONG") == "1"
            ? (TestCaseData[])[new("limit@6500ms", "limit: it was stopped"), new("hot@6500ms", "hot: it was stopped"), new("silent@6500ms", "no answer to"), new("wrong@6500ms", "nothing that its description has"), new("stuck@6500ms", "it was stopped")]
            : [],
    ];

    [TestCaseSource(nameof(s_faults))]
    public void WhateverFailsTheTableRestsAndTheDeviceIsNotBlamed(string fault, string said)
    {
        // 6.5 s after the first motion the first loop is under way.
        _table.Start("--fault", fault);
        var result = Sweep(Plan("peak: 100 mg to 160 mg by 30 mg", "dwell: 2 s", "limits: [{measure: switch_up, at_most: 1 mg}]"));
        Assert.That(result.Code, Is.EqualTo(2), result.Output + result.Errors);
        Assert.That(Json().GetProperty("verdict").GetString(), Is.EqualTo("inconc"));
        Assert.That(Json().ToString(), Does.Contain(said));
        _table.AssertAtRest();
    }

    /// <summary>Nothing is sent any more: the controller's watchdog, its ramp of 100 ms, and what the table rings on.</summary>
    [Test]
    public void KilledTheTableRestsWithinItsWatchdog()
    {
        _table.Start();
        using var hil = _table.StartMoving(0.09, () => StartSweep(Plan("peak: 100 mg to 160 mg by 30 mg", "dwell: 4 s")));
        hil.Kill();
        double killed = DateTimeOffset.UtcNow.ToUnixTimeMilliseconds() / 1000.0;
        hil.WaitForExit();
        Hil.Await(() => TableFixture.IsAtRest(_table.Trace()), "rest");
        _table.AssertAtRest();
        double last = _table.Trace().Where(r => Math.Abs(r.G) > TableFixture.RestG).Max(r => r.UnixS);
        TestContext.Out.WriteLine(string.Create(CultureInfo.InvariantCulture, $"at rest {last - killed:0.000} s after the kill"));
        Assert.That(last - killed, Is.LessThan(TableFixture.WatchdogS + 0.1 + 0.25));
    }

    [TestCase("-INT")]
    [TestCase("-TERM")]
    public void InterruptedTheTableRests(string signal)
    {
        _table.Start();
        using var hil = _table.StartMoving(0.09, () => StartSweep(Plan("peak: 100 mg to 160 mg by 30 mg", "dwell: 4 s")));
        Process.Start("kill", [signal, hil.Id.ToString(CultureInfo.InvariantCulture)])!.WaitForExit();
        Assert.That(hil.WaitForExit(TimeSpan.FromSeconds(60)));
        Assert.That(hil.ExitCode, Is.EqualTo(130));
        _table.AssertAtRest();
        _table.AssertInsideTheEnvelope();
    }

    [Test]
    public void NothingMovesUnlessSomebodySaidYes()
    {
        _table.Start();
        var unasked = Hil.Run("sweep", Plan("peak: 20 mg to 60 mg by 20 mg", "dwell: 2 s"), "--rig", _table.Rig(), "--shaker", "--out", _table.File("out"));
        Assert.That((unasked.Code, unasked.Errors),
            Is.EqualTo((64,
            "hil: --shaker: nobody is at a terminal to say that the table may move; with an interlock that answers for them say --interlock-answers\n")));
        foreach (var (found, put, said) in new[]
        {
            ("peak: 20 mg to 60 mg by 20 mg", "peak: 1 g to 3 g by 1 g", "outside the envelope"), ("tone: 16 Hz", "tone: 1 Hz", "1 Hz, outside 2 Hz to 100 Hz"), ("axis: z", "axis: x", "a table that moves along z"), ("dwell: 2 s", "dwell: found", "a dwell, such as 6 s"),
        })
        {
            string plan = Plan("peak: 20 mg to 60 mg by 20 mg", "dwell: 2 s");
            File.WriteAllText(plan, File.ReadAllText(plan).Replace(found, put, StringComparison.Ordinal));
            var refused = Sweep(plan);
            Assert.That(refused.Code, Is.EqualTo(65), refused.Output + refused.Errors);
            Assert.That(refused.Errors, Does.Contain(said));
        }
        File.WriteAllText(_table.File("other.yaml"), File.ReadAllText(_table.Rig()).Replace("simulated-table ", "another-table ", StringComparison.Ordinal));
        var other = Hil.Run("sweep", Plan("peak: 20 mg to 60 mg by 20 mg", "dwell: 2 s"), "--rig", _table.File("other.yaml"),
            "--shaker", "--interlock-answers", "--out", _table.File("out"));
        Assert.That(other.Output.ReplaceLineEndings(" "), Does.Contain("is it the right instrument?"));
        Assert.That(_table.Trace().Max(r => Math.Abs(r.G)), Is.LessThan(TableFixture.RestG), "it never moved");
    }

    [Test]
    public void APersonIsAskedBeforeTheFirstMotionAndBeforeTheSweep()
    {
        _table.Start();
        string plan = Plan("peak: 60 mg to 120 mg by 30 mg", "dwell: 2 s");
        string[] arguments = ["sweep", plan, "--rig", _table.Rig(), "--shaker", "--out", _table.File("out")];
        using (var no = new HilOnTerminal(arguments))
        {
            no.WaitFor("type move");
            no.Press("no\n");
            Assert.That(no.End(), Is.EqualTo(2));
            Assert.That(no.Shown, Does.Contain("nobody typed move: the table does not move"));
        }
        Assert.That(_table.Trace().Max(r => Math.Abs(r.G)), Is.LessThan(TableFixture.RestG), "it never moved");
        using (var half = new HilOnTerminal(arguments))
        {
            half.WaitFor("type move");
            half.Press("move\n");
            half.WaitFor("type go");
            half.Press("\n");
            Assert.That(half.End(), Is.EqualTo(2));
        }
        Assert.That(_table.Trace().Max(r => Math.Abs(r.G)), Is.InRange(TableFixture.RestG, (LowG + TakeUpG) * Overshoot + 0.01), "the low level, and no more");
        _table.AssertAtRest();
        using var whole = new HilOnTerminal(arguments);
        whole.WaitFor("type move");
        whole.Press("move\n");
        whole.WaitFor("type go");
        Assert.That(OneLine(whole.Shown), Does.Match(
            @"type move to let it move first at 0\.03 g, 2\d % of the highest level \(nothing lower is told apart from noise"));
        AssertNotArmedWhileAsked();
        whole.Press("go\n");
        Assert.That(whole.End(), Is.EqualTo(2), "no limit was given");
        Assert.That(Spoken().Count(l => l.EndsWith("> arm", StringComparison.Ordinal)), Is.EqualTo(2),
            "before each motion, after each yes");
        Assert.That(whole.Shown, Does.Contain("no limit was given"));
        _table.AssertAtRest();
    }

    [Test]
    public void AGeneratorIsDrivenOnlyWhileSomebodyStandsByIt()
    {
        _table.Start("--generator", "8");
        string rig = _table.Rig("shaker-generator"), plan = Plan("peak: 60 mg to 120 mg by 30 mg", "dwell: 2 s");
        var alone = Hil.Run("sweep", plan, "--rig", rig, "--shaker", "--interlock-answers", "--out", _table.File("out"));
        Assert.That((alone.Code, alone.Errors), Is.EqualTo((64,
            "hil: --interlock-answers: rig shaker-generator's table does not stop by itself when this computer fails (shaker.watchdog): it is not driven unless somebody stands by it: leave --interlock-answers out\n")));
        Assert.That(_table.Trace().Max(r => Math.Abs(r.G)), Is.LessThan(TableFixture.RestG), "it never moved");
        using var hil = new HilOnTerminal("sweep", plan, "--rig", rig, "--shaker", "--out", _table.File("out"));
        hil.WaitFor("type move");
        Assert.That(hil.Shown, Does.Contain("stay within reach of the emergency stop"));
        hil.Press("move\n");
        hil.WaitFor("type go");
        hil.Press("go\n");
        Assert.That(hil.End(), Is.EqualTo(2), hil.Shown);
        Assert.That(Json().GetProperty("reasons").ToString(), Does.Contain("no limit was given"));
        _table.AssertAtRest();
        _table.AssertInsideTheEnvelope();
    }

    [Test]
    public void CheckSpeaksOfTheTableAndMovesNothing()
    {
        _table.Start();
        var check = Hil.Run("check", _table.Rig());
        Assert.Multiple(() =>
        {
            Assert.That(check.Code, Is.Zero, check.Output + check.Errors);
            Assert.That(check.Output, Does.Contain("stops by itself after 5000 ms of silence").And.Contain("it is resting").And.Contain("hard-wired emergency stop").And.Contain("competent person"));
            Assert.That(check.Output, Does.EndWith("healthy\n"));
        });
        Assert.That(_table.Trace().Max(r => Math.Abs(r.G)), Is.LessThan(TableFixture.RestG));
        _table.Stop();
        Assert.That(Hil.Run("check", _table.Rig()).Code, Is.Not.Zero);
    }

    /// <summary>By the controller's own last word; and nothing is asked of it, which would keep its watchdog quiet.</summary>
    private void AssertNotArmedWhileAsked()
    {
        var said = Spoken();
        Assert.That(said.FindLast(l => l.Contains(" st ", StringComparison.Ordinal)), Does.Contain(" st resting "),
            string.Join('\n', said.TakeLast(8)));
        _table.AssertAtRest();
        Assert.That(Spoken(), Has.Count.EqualTo(said.Count),
            "nothing is said to it while a person is asked, for a second of its own time");
    }

    /// <summary>Lines between the tool and the controller in the newest sweep.</summary>
    private List<string> Spoken()
    {
        string log = Directory.GetDirectories(_table.File("out")).Order(StringComparer.Ordinal).Last();
        using var file = new FileStream(Path.Combine(log, "shaker.log"), FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
        using var reader = new StreamReader(file);
        return [.. reader.ReadToEnd().Split('\n', StringSplitOptions.RemoveEmptyEntries)];
    }

    private static string OneLine(string text) => System.Text.RegularExpressions.Regex.Replace(text, @"\s+", " ");

    private string SweepFolder => Directory.GetDirectories(_table.File("out")).Single();

    private JsonElement Json() => JsonDocument.Parse(File.ReadAllText(Path.Combine(SweepFolder, "sweep.json"))).RootElement;

    private HilResult Sweep(string plan) => Hil.Run("sweep", plan, "--rig", _table.Rig(), "--shaker", "--interlock-answers",
        "--out", _table.File("out"));

    private Process StartSweep(string plan) =>
        Hil.Start("sweep", plan, "--rig", _table.Rig(), "--shaker", "--interlock-answers", "--out", _table.File("out"));

    private string Plan(string peak, params string[] more)
    {
        string path = _table.File($"{Guid.NewGuid():N}.yaml");
        File.WriteAllText(path, $"sweep: rollers\nmotion: {{tone: 16 Hz, {peak}, axis: z}}\nrepeats: 1\n{string.Join('\n', more)}\n");
        return path;
    }
}
