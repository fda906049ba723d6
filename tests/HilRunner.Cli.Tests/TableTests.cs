using System.Diagnostics;
using System.Globalization;
using System.Text.Json;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>
/// The simulated table in a process of its own, a device that rides on it, and the real executable that drives it: whatever fails, the table comes to rest, and the device is not blamed.
/// </summary>
[Parallelizable(ParallelScope.All)]
[FixtureLifeCycle(LifeCycle.InstancePerTestCase)]
public class TableTests
{
    /// <summary>Less is the table's own ringing.</summary>
    private const double RestG = 0.02;
    /// <summary>The lowest level of a first motion.</summary>
    private const double LowG = 0.03;
    /// <summary>A step of 0.02 g, taken up within 20 ms, adds 2 · 0.02 g / (20 ms · 2π · 16 Hz) while the amplitude grows.</summary>
    private const double TakeUpG = 0.02;
    private readonly TemporaryFolder _folder = TestPaths.NewFolder("table");
    private Process? _shaker;

    [TearDown]
    public void TearDown()
    {
        if (_shaker is { HasExited: false }) { _shaker.Kill(); }
        _shaker?.Dispose();
        _folder.Dispose();
    }

    [Test]
    public void ASweepByTheTableFindsTheSameAsOneByInjection()
    {
        StartTable();
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
        AssertAtRest();
        AssertInsideTheEnvelope();
    }

    [TestCase("interlock@6500ms", "interlock: it was stopped")]
    [TestCase("limit@6500ms", "limit: it was stopped")]
    [TestCase("hot@6500ms", "hot: it was stopped")]
    [TestCase("lost@6500ms", "no answer to")]
    [TestCase("silent@6500ms", "no answer to")]
    [TestCase("wrong@6500ms", "nothing that its description has")]
    [TestCase("runaway@6500ms", "it was stopped")]
    [TestCase("stuck@6500ms", "it was stopped")]
    [TestCase("stuck@0s", "times what it is told")]
    public void WhateverFailsTheTableRestsAndTheDeviceIsNotBlamed(string fault, string said)
    {
        // 6.5 s after the first motion the first loop is under way.
        StartTable("--fault", fault);
        var result = Sweep(Plan("peak: 100 mg to 160 mg by 30 mg", "dwell: 2 s", "limits: [{measure: switch_up, at_most: 1 mg}]"));
        Assert.That(result.Code, Is.EqualTo(2), result.Output + result.Errors);
        Assert.That(Json().GetProperty("verdict").GetString(), Is.EqualTo("inconc"));
        Assert.That(Json().ToString(), Does.Contain(said));
        AssertAtRest();
    }

    /// <summary>Nothing is sent any more: the controller's watchdog, its ramp of 100 ms, and what the table rings on.</summary>
    [Test]
    public void KilledTheTableRestsWithinItsWatchdog()
    {
        StartTable();
        using var hil = StartSweep(Plan("peak: 100 mg to 160 mg by 30 mg", "dwell: 4 s"));
        AwaitMotion(0.09);
        hil.Kill();
        double killed = DateTimeOffset.UtcNow.ToUnixTimeMilliseconds() / 1000.0;
        hil.WaitForExit();
        Hil.Await(() => IsAtRest(Trace()), "rest");
        AssertAtRest();
        double last = Trace().Where(r => Math.Abs(r.G) > RestG).Max(r => r.UnixS);
        TestContext.Out.WriteLine(string.Create(CultureInfo.InvariantCulture, $"at rest {last - killed:0.000} s after the kill"));
        Assert.That(last - killed, Is.LessThan(2 + 0.1 + 0.25));
    }

    [TestCase("-INT")]
    [TestCase("-TERM")]
    public void InterruptedTheTableRests(string signal)
    {
        StartTable();
        using var hil = StartSweep(Plan("peak: 100 mg to 160 mg by 30 mg", "dwell: 4 s"));
        AwaitMotion(0.09);
        Process.Start("kill", [signal, hil.Id.ToString(CultureInfo.InvariantCulture)])!.WaitForExit();
        Assert.That(hil.WaitForExit(TimeSpan.FromSeconds(60)));
        Assert.That(hil.ExitCode, Is.EqualTo(130));
        AssertAtRest();
        AssertInsideTheEnvelope();
    }

    [Test]
    public void NothingMovesUnlessSomebodySaidYes()
    {
        StartTable();
        var unasked = Hil.Run("sweep", Plan("peak: 20 mg to 60 mg by 20 mg", "dwell: 2 s"), "--rig", Rig(), "--shaker", "--out", _folder.File("out"));
        Assert.That((unasked.Code, unasked.Errors), Is.EqualTo((64, "hil: --shaker: nobody is at a terminal to say that the table may move; with an interlock that answers for them say --armed\n")));
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
        File.WriteAllText(_folder.File("other.yaml"), File.ReadAllText(Rig()).Replace("simulated-table ", "another-table ", StringComparison.Ordinal));
        var other = Hil.Run("sweep", Plan("peak: 20 mg to 60 mg by 20 mg", "dwell: 2 s"), "--rig", _folder.File("other.yaml"), "--shaker", "--armed", "--out", _folder.File("out"));
        Assert.That(other.Output.ReplaceLineEndings(" "), Does.Contain("is it the right instrument?"));
        Assert.That(Trace().Max(r => Math.Abs(r.G)), Is.LessThan(RestG), "it never moved");
    }

    [Test]
    public void APersonIsAskedBeforeTheFirstMotionAndBeforeTheSweep()
    {
        StartTable();
        string plan = Plan("peak: 60 mg to 120 mg by 30 mg", "dwell: 2 s");
        string[] arguments = ["sweep", plan, "--rig", Rig(), "--shaker", "--out", _folder.File("out")];
        using (var no = new HilOnTerminal(arguments))
        {
            no.WaitFor("type move");
            no.Press("no\n");
            Assert.That(no.End(), Is.EqualTo(2));
            Assert.That(no.Shown, Does.Contain("nobody typed move: the table does not move"));
        }
        Assert.That(Trace().Max(r => Math.Abs(r.G)), Is.LessThan(RestG), "it never moved");
        using (var half = new HilOnTerminal(arguments))
        {
            half.WaitFor("type move");
            half.Press("move\n");
            half.WaitFor("type go");
            half.Press("\n");
            Assert.That(half.End(), Is.EqualTo(2));
        }
        Assert.That(Trace().Max(r => Math.Abs(r.G)), Is.InRange(RestG, LowG + TakeUpG + 0.01), "the low level, and no more");
        AssertAtRest();
        using var whole = new HilOnTerminal(arguments);
        whole.WaitFor("type move");
        whole.Press("move\n");
        whole.WaitFor("type go");
        whole.Press("go\n");
        Assert.That(whole.End(), Is.EqualTo(2), "no limit was given");
        Assert.That(whole.Shown, Does.Contain("no limit was given"));
        AssertAtRest();
    }

    [Test]
    public void CheckSpeaksOfTheTableAndMovesNothing()
    {
        StartTable();
        var check = Hil.Run("check", Rig());
        Assert.Multiple(() =>
        {
            Assert.That(check.Code, Is.Zero, check.Output + check.Errors);
            Assert.That(check.Output, Does.Contain("stops by itself after 2000 ms of silence").And.Contain("it is resting").And.Contain("hard-wired emergency stop").And.Contain("competent person"));
            Assert.That(check.Output, Does.EndWith("healthy\n"));
        });
        Assert.That(Trace().Max(r => Math.Abs(r.G)), Is.LessThan(RestG));
        _shaker!.Kill();
        _shaker.WaitForExit();
        Assert.That(Hil.Run("check", Rig()).Code, Is.Not.Zero);
    }

    private string SweepFolder => Directory.GetDirectories(_folder.File("out")).Single();

    private JsonElement Json() => JsonDocument.Parse(File.ReadAllText(Path.Combine(SweepFolder, "sweep.json"))).RootElement;

    private void StartTable(params string[] more)
    {
        _shaker = Hil.Start(["shaker", "--at", _folder.File("at"), "--trace", _folder.File("trace.csv"), "--watchdog", "2s", .. more]);
        Assert.That(_shaker.StandardOutput.ReadLine(), Does.StartWith("table: pty:"));
        Assert.That(_shaker.StandardOutput.ReadLine(), Does.StartWith("device: pty:"));
        Hil.Await(() => File.Exists(_folder.File("trace.csv")) && Trace().Count > 0, "the trace");
    }

    private HilResult Sweep(string plan) => Hil.Run("sweep", plan, "--rig", Rig(), "--shaker", "--armed", "--out", _folder.File("out"));

    private Process StartSweep(string plan) => Hil.Start("sweep", plan, "--rig", Rig(), "--shaker", "--armed", "--out", _folder.File("out"));

    private string Rig()
    {
        string path = _folder.File("rig.yaml");
        if (!File.Exists(path)) { File.WriteAllText(path, File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "shaker-sim.yaml")).Replace("/tmp/hil-shaker", _folder.File("at"), StringComparison.Ordinal)
            // Other tests hold this machine up for longer than a table on a bench would be.
            .Replace("watchdog: 250 ms", "watchdog: 2 s", StringComparison.Ordinal)); }
        return path;
    }

    private string Plan(string peak, params string[] more)
    {
        string path = _folder.File($"{Guid.NewGuid():N}.yaml");
        File.WriteAllText(path, $"sweep: rollers\nmotion: {{tone: 16 Hz, {peak}, axis: z}}\nrepeats: 1\n{string.Join('\n', more)}\n");
        return path;
    }

    private List<(double UnixS, double Mm, double G)> Trace()
    {
        using var file = new FileStream(_folder.File("trace.csv"), FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
        using var reader = new StreamReader(file);
        string[] lines = reader.ReadToEnd().Split('\n');
        // The last line may be half written.
        return lines.Length < 3 ? [] : [.. lines[1..^1].Select(l => l.Split(',')).Select(f => (double.Parse(f[0], CultureInfo.InvariantCulture), double.Parse(f[1], CultureInfo.InvariantCulture), double.Parse(f[2], CultureInfo.InvariantCulture)))];
    }

    private void AwaitMotion(double g) => Hil.Await(() => Trace().TakeLast(200).Any(r => Math.Abs(r.G) > g), $"{g} g");

    /// <summary>For half a second of the table's own time, while it still runs.</summary>
    private void AssertAtRest()
    {
        double from = Trace()[^1].UnixS;
        Hil.Await(() => Trace()[^1].UnixS > from + 1, "a second of trace");
        Assert.That(_shaker!.HasExited, Is.False);
        Assert.That(IsAtRest(Trace()));
    }

    private static bool IsAtRest(List<(double UnixS, double Mm, double G)> trace) => trace.Where(r => r.UnixS > trace[^1].UnixS - 0.5).Max(r => Math.Abs(r.G)) < RestG;

    private void AssertInsideTheEnvelope()
    {
        var trace = Trace();
        Assert.That(trace.Max(r => Math.Abs(r.G)), Is.InRange(0.05, 2));
        Assert.That(trace.Max(r => Math.Abs(r.Mm)), Is.LessThan(10));
    }
}
