using System.Diagnostics;
using System.Globalization;
using System.Text.Json;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>Sweeps through the real executable and the virtual device, whose thresholds stand in its model file.</summary>
public class SweepTests
{
    private const string Rig = "rigs/virtual-pump.yaml";
    /// <summary>A tone's deviation is its peak over √2; the model asks for 60 counts of 1 mg on the way up, for 45 on the way down.</summary>
    private static readonly double s_upMg = 60 * Math.Sqrt(2), s_downMg = 45 * Math.Sqrt(2);
    private TemporaryFolder _folder = null!;

    [OneTimeSetUp]
    public void Prepare() => _folder = TestPaths.NewFolder("sweeps");

    [OneTimeTearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void The_pump_switches_where_its_model_says()
    {
        var (result, json, folder) = Sweep("pump", "scenarios/pump/level.yaml");
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        var found = json.GetProperty("points")[0].GetProperty("switches")[0];
        Assert.Multiple(() =>
        {
            Assert.That(json.GetProperty("points")[0].GetProperty("switches").GetArrayLength(), Is.EqualTo(1));
            Assert.That((Text(found, "below"), Text(found, "above")), Is.EqualTo(("normal", "unbalanced")));
            Holds(found.GetProperty("up"), s_upMg);
            Holds(found.GetProperty("down"), s_downMg);
            Holds(found.GetProperty("width"), s_upMg - s_downMg);
            Assert.That(found.GetProperty("width").GetProperty("interval").GetProperty("low").GetDouble(), Is.GreaterThan(0), "hysteresis is shown");
            Assert.That(found.GetProperty("legs").GetArrayLength(), Is.EqualTo(10));
            // The window of 640 ms, and two hops until three windows agree.
            Assert.That(json.GetProperty("slowest_step_s").GetDouble(), Is.InRange(0.64, 0.64 + 3 * 0.16));
            Assert.That(json.GetProperty("runs").GetArrayLength(), Is.EqualTo(5));
            Assert.That(File.ReadAllText(Path.Combine(folder, "report.html")), Does.Contain("normal becomes unbalanced at").And.Contain("all 2 limits held"));
        });
        foreach (var run in json.GetProperty("runs").EnumerateArray()) { Assert.That(File.Exists(Path.Combine(folder, Text(run, "run"), "decisions.csv"))); }
    }

    [TestCase("at_most: 120 mg", 0, "held")]
    [TestCase("at_most: 60 mg", 1, "broken")]
    [TestCase("at_least: 85 mg", 2, "open")]
    [TestCase("class: loose, at_most: 120 mg", 2, "loose was not entered within the range")]
    public void A_limit_is_held_broken_or_open(string limit, int code, string said)
    {
        var (result, json, _) = Sweep("limit", Plan($"limits: [{{measure: switch_up, {limit}}}]"));
        Assert.That(result.Code, Is.EqualTo(code), result.Output + result.Errors);
        Assert.That(json.GetProperty("limits")[0].ToString(), Does.Contain(said));
    }

    [Test]
    public void Without_limits_nothing_is_judged_and_without_hysteresis_none_is_given()
    {
        string plan = Write("parcel.yaml", """
            sweep: rollers
            motion: {tone: 16 Hz, peak: 20 mg to 90 mg by 10 mg, axis: z}
            dwell: 4 s
            repeats: 4
            """);
        var (result, json, folder) = Sweep("parcel", plan, rig: "rigs/virtual.yaml");
        Assert.That((result.Code, Text(json, "verdict")), Is.EqualTo((2, "none")), result.Errors);
        var found = json.GetProperty("points")[0].GetProperty("switches")[0];
        Assert.That((Text(found, "below"), Text(found, "above")), Is.EqualTo(("resting", "conveyed")));
        Holds(found.GetProperty("up"), 38 * Math.Sqrt(2));
        Holds(found.GetProperty("width"), 0);
        Assert.That(File.ReadAllText(Path.Combine(folder, "report.html")), Does.Contain("none shown; at most"));
    }

    [Test]
    public void A_map_has_a_sweep_at_each_value()
    {
        var (result, json, folder) = Sweep("map", Write("map.yaml", """
            sweep: map
            motion: {tone: [16 Hz, 25 Hz], peak: 40 mg to 120 mg by 20 mg, axis: z}
            dwell: 3 s
            repeats: 2
            """));
        Assert.That(result.Code, Is.EqualTo(2), result.Errors);
        Assert.That(json.GetProperty("points").EnumerateArray().Select(p => p.GetProperty("across").GetDecimal()), Is.EqualTo(new[] { 16m, 25m }));
        Assert.That(File.ReadAllText(Path.Combine(folder, "report.html")), Does.Contain("Map: frequency and peak"));
    }

    [Test]
    public void Compare_tells_a_build_that_switches_elsewhere_from_one_that_does_not()
    {
        string plan = Write("finer.yaml", File.ReadAllText(Plan("")).Replace("by 20 mg", "by 10 mg", StringComparison.Ordinal).Replace("repeats: 3", "repeats: 5", StringComparison.Ordinal));
        string model = File.ReadAllText(Path.Combine(TestPaths.Root, "scenarios/pump/model.yaml"));
        string other = Write("other-model.yaml", model.Replace("below: 60", "below: 75", StringComparison.Ordinal));
        var before = Sweep("before", plan).Folder;
        var again = Sweep("again", Write("again.yaml", File.ReadAllText(plan) + "seed: 7\n")).Folder;
        var moved = Sweep("moved", plan, more: ["--link", $"builtin:lines?model={other}&credit_window=1024", "--build", "75"]).Folder;
        var same = Hil.Run("compare", before, again);
        Assert.That(same.Code, Is.Zero, same.Output + same.Errors);
        Assert.That(same.Output, Does.Contain("none shown: no switching point has moved"));
        var differs = Hil.Run("compare", before, moved, "--json");
        Assert.That(differs.Code, Is.EqualTo(1), differs.Output + differs.Errors);
        var figures = JsonDocument.Parse(differs.Output).RootElement.GetProperty("figures").EnumerateArray().ToList();
        Assert.That(figures.Where(f => f.GetProperty("moved").GetBoolean()).Select(f => Text(f, "measure")), Does.Contain("switch_up").And.Contain("switch_down"));
        // 15 counts more: 21.2 mg of peak.
        Assert.That(figures.First(f => Text(f, "measure") == "switch_up").GetProperty("shift").GetDouble(), Is.EqualTo(15 * Math.Sqrt(2)).Within(8));
        Assert.That(File.Exists(Path.Combine(moved, "compare.html")));
        var unlike = Hil.Run("compare", before, "scenarios");
        Assert.That((unlike.Code, unlike.Errors), Is.EqualTo((64, "hil: scenarios: no sweep; a sweep is compared with a sweep\n")));
    }

    [Test]
    public void A_rig_that_spoils_loops_leaves_it_inconclusive()
    {
        var (result, json, _) = Sweep("unplugged", Plan("limits: [{measure: switch_up, at_most: 1 mg}]"), more: ["--link", "builtin:lines?model=scenarios/pump/model.yaml&credit_window=1024&unplug_at=9000"]);
        Assert.That(result.Code, Is.EqualTo(2), result.Output + result.Errors);
        Assert.That(json.GetProperty("reasons")[0].GetString(), Does.StartWith("the rig spoiled"));
    }

    [Test]
    public void An_interrupt_keeps_what_was_played_and_says_so()
    {
        string outFolder = _folder.File("interrupted");
        using var hil = Hil.Start("sweep", Plan(""), "--rig", Rig, "--out", outFolder, "--speed", "4x");
        Hil.Await(() => Directory.Exists(outFolder) && Directory.GetFiles(outFolder, "decisions.csv", SearchOption.AllDirectories).Length > 0, "a loop that was played");
        Process.Start("kill", ["-INT", hil.Id.ToString(CultureInfo.InvariantCulture)])!.WaitForExit();
        Assert.That(hil.WaitForExit(TimeSpan.FromSeconds(60)));
        var json = JsonDocument.Parse(File.ReadAllText(Directory.GetFiles(outFolder, "sweep.json", SearchOption.AllDirectories).Single())).RootElement;
        Assert.Multiple(() =>
        {
            Assert.That(hil.ExitCode, Is.EqualTo(130));
            Assert.That(Text(json, "verdict"), Is.EqualTo("inconc"));
            Assert.That(json.GetProperty("ended").ValueKind, Is.EqualTo(JsonValueKind.Null));
            Assert.That(json.GetProperty("notes")[0].GetString(), Does.Match("interrupted after [0-9] of 3 loops"));
        });
    }

    [TestCase("40 mg to 120 mg by 20 mg", "4 g to 8 g by 1 g", 65, "cuts off")]
    [TestCase("tone: 25 Hz", "tone: 500 Hz", 65, "below half the device's input rate")]
    [TestCase("axis: z", "axis: q", 65, "axis")]
    [TestCase("repeats: 3", "limits: [{measure: switch_up, class: lost, at_most: 1 mg}]", 65, "stopped, normal, unbalanced, loose")]
    public void What_cannot_be_played_is_refused_before_anything_is(string found, string put, int code, string said)
    {
        string plan = Write($"refused-{Guid.NewGuid():N}.yaml", File.ReadAllText(Plan("")).Replace(found, put, StringComparison.Ordinal));
        var result = Hil.Run("sweep", plan, "--rig", Rig, "--out", _folder.File("refused"));
        Assert.That((result.Code, result.Errors), Is.EqualTo((code, result.Errors)));
        Assert.That(result.Errors, Does.Contain(said));
        Assert.That(Directory.Exists(_folder.File("refused")), Is.False);
    }

    private string Plan(string limits) => Write($"plan-{Guid.NewGuid():N}.yaml", $$"""
        sweep: pull
        motion: {tone: 25 Hz, peak: 40 mg to 120 mg by 20 mg, axis: z}
        dwell: 2 s
        repeats: 3
        {{limits}}

        """);

    private (HilResult Result, JsonElement Json, string Folder) Sweep(string name, string plan, string rig = Rig, params string[] more)
    {
        string outFolder = _folder.File($"{name}-{Guid.NewGuid():N}");
        var result = Hil.Run(["sweep", plan, "--rig", rig, "--out", outFolder, "--json", .. more]);
        Assert.That(Directory.Exists(outFolder), result.Output + result.Errors);
        return (result, JsonDocument.Parse(result.Output).RootElement, Directory.GetDirectories(outFolder).Single());
    }

    private string Write(string name, string text)
    {
        File.WriteAllText(_folder.File(name), text);
        return _folder.File(name);
    }

    private static string Text(JsonElement item, string name) => item.GetProperty(name).GetString()!;

    private static void Holds(JsonElement figure, double truth)
    {
        var interval = figure.GetProperty("interval");
        Assert.That(truth, Is.InRange(interval.GetProperty("low").GetDouble(), interval.GetProperty("high").GetDouble()));
    }
}
