using System.Globalization;
using System.Text.Json;
using HilRunner.Core.Runs;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>A scenario that a person plays: told on a terminal, marked by key, scored with what the marks leave open.</summary>
[Platform("Linux")]
[Timing("the times of keys and onsets are measured")]
public class ByHandTests
{
    private const string Scenario = """
        scenario: by hand
        stimulus:
          - prompt: {say: leave it on the table, for: 5 s, class: resting}
          - prompt: {say: carry it across the room, for: 9 s, class: carried}
        within: 6 s
        limits:
          - {measure: reaction, class: carried, statistic: max, at_most: 6 s}
        """;

    [Test]
    public void MovedMarkedAndScored()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("hand.yaml"), Scenario);
        // It begins to be carried 10 s after stream on: with 3 s to get ready, 7 s into the scenario.
        WriteMotion(folder.File("motion.csv"), 10);
        using var hil = new HilOnTerminal("run", folder.File("hand.yaml"), "--rig", "rigs/virtual.yaml", "--link",
            $"builtin:lines?model=scenarios/parcel/model.yaml&motion={folder.File("motion.csv")}", "--out", folder.File("runs"));
        hil.WaitFor("NOW   CARRY IT ACROSS THE ROOM");
        Task.Delay(1900).Wait();
        hil.Press(" ");
        hil.WaitFor("onset marked");
        Assert.That(hil.End(), Is.Zero, "the limit held, uncertainty and all");
        string run = Directory.GetDirectories(Directory.GetDirectories(folder.File("runs")).Single()).Single();
        var expected = ExpectedFile.Read(Path.Combine(run, RunFiles.Expected));
        var marks = MarksFile.Read(Path.Combine(run, RunFiles.Marks));
        var mark = marks.Single(m => m.Kind == HandMarkKind.Marked);
        var motion = marks.Single(m => m.Kind == HandMarkKind.Motion && m.Step == 1);
        Assert.Multiple(() =>
        {
            Assert.That(marks.Count(m => m.Kind == HandMarkKind.Told), Is.EqualTo(2));
            Assert.That(expected[1].Start, Is.EqualTo(mark.At), "the reference changes where the person says it did");
            Assert.That(expected[0].End, Is.EqualTo(mark.At));
            Assert.That(expected.Select(e => e.UncertaintyNs), Is.EqualTo(new[] { 1_000_000_000L, 300_000_000L }).Within(60_000_000), "not marked: told and two seconds later; marked: 0.3 s");
            Assert.That((double)motion.At.Seconds, Is.EqualTo(7).Within(0.25), "found in what the device measured");
        });
        byte[] score = File.ReadAllBytes(Path.Combine(run, RunFiles.Score));
        AssertUncertainty(score, DecisionsFile.Read(Path.Combine(run, RunFiles.Decisions)), mark);
        string report = File.ReadAllText(Path.Combine(run, RunFiles.Report));
        Assert.That(report, Does.Contain("Moved by hand").And.Contain("marked by key").And.Not.Contain("Injected motion can"));

        Assert.That(Hil.Run("score", run).Code, Is.Zero);
        Assert.That(File.ReadAllBytes(Path.Combine(run, RunFiles.Score)), Is.EqualTo(score), "hil score RUN needs nothing else, and gives the same bytes");
        Assert.That(MarksFile.Read(Path.Combine(run, RunFiles.Marks)), Is.EqualTo(marks));
    }

    [Test]
    public void ARigThatOnlyListens()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("hand.yaml"), "scenario: rest\nstimulus:\n  - prompt: {say: leave it, for: 3 s, class: resting}\nlimits:\n  - {measure: missed, at_most: 0}\n");
        File.WriteAllText(folder.File("rig.yaml"), $$"""
            rig: listener
            device:
              link: {builtin: {model: {{Path.Combine(TestPaths.Root, "scenarios/parcel/model.yaml")}}, senses: true, credit_window: 0} }
              framing: lines
              says: {decisions: '^c (?<n>\d+) (?<class>\w+)'}
              input: {rate: 100 Hz, channels: {ax: {count: 1 mg, range: 8 g}, ay: {count: 1 mg, range: 8 g}, az: {count: 1 mg, range: 8 g} } }
            """);
        using (var hil = new HilOnTerminal("run", folder.File("hand.yaml"), "--rig", folder.File("rig.yaml"), "--out", folder.File("runs")))
        {
            hil.WaitFor("NOW   LEAVE IT");
            Assert.That(hil.End(), Is.Zero);
        }
        File.WriteAllText(folder.File("played.yaml"), "scenario: played\nstimulus:\n  - synth: {rest: 3 s, class: resting}\n");
        var played = Hil.Run("run", folder.File("played.yaml"), "--rig", folder.File("rig.yaml"), "--out", folder.File("runs"));
        Assert.That(played.Code, Is.EqualTo(65));
        Assert.That(played.Errors, Does.Contain("hears no samples"));
    }

    [Test]
    public void PlayedAndPromptedInOne_IsRefused()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("both.yaml"), "scenario: both\nstimulus:\n  - synth: {rest: 3 s, class: resting}\n  - prompt: {say: carry it, for: 3 s, class: carried}\n");
        var result = Hil.Run("run", folder.File("both.yaml"), "--rig", "rigs/virtual.yaml", "--out", folder.File("runs"));
        Assert.That(result.Code, Is.EqualTo(65));
        Assert.That(result.Errors, Does.Contain("1 of 2 steps are prompts, the others are played").And.Contain("make two scenarios of it"));
    }

    [Test]
    public void Unattended_IsRefused()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("hand.yaml"), Scenario);
        var result = Hil.Run("run", folder.File("hand.yaml"), "--rig", "rigs/virtual.yaml", "--out", folder.File("runs"));
        Assert.That(result.Code, Is.EqualTo(64));
        Assert.That(result.Errors, Does.Contain("needs a terminal"));
        Assert.That(Directory.Exists(folder.File("runs")), Is.False);
    }

    /// <summary>The half-width of each trial is that of its decision and that of its onset together.</summary>
    private static void AssertUncertainty(byte[] score, IReadOnlyList<Decision> decisions, HandMark mark)
    {
        var carried = decisions.Single(d => d.Class == "carried");
        using var json = JsonDocument.Parse(score);
        var trial = json.RootElement.GetProperty("trials").EnumerateArray().Single(t => t.GetProperty("class").GetString() == "carried");
        decimal Figure(string name) => trial.GetProperty(name).GetDecimal();
        Assert.Multiple(() =>
        {
            Assert.That(Figure("reaction_s"), Is.EqualTo((carried.Time - mark.At) / 1e9m));
            Assert.That(Figure("uncertainty_s"), Is.EqualTo(carried.UncertaintyNs!.Value / 1e9m + 0.3m));
            Assert.That(Figure("report_latency_s"), Is.EqualTo((carried.ArrivalNs!.Value - mark.At.Ns) / 1e9m));
            Assert.That(Figure("report_uncertainty_s"), Is.EqualTo(carried.ArrivalUncertaintyNs!.Value / 1e9m + 0.3m));
        });
    }

    private static void WriteMotion(string path, double carriedFrom)
    {
        var random = new Random(3);
        File.WriteAllLines(path, [
            "t_s,ax_g,ay_g,az_g",
            .. Enumerable.Range(0, 3000).Select(n =>
            {
                double t = n / 100.0, swing = t < carriedFrom ? 0 : 0.3 * Math.Cos(2 * Math.PI * 1.8 * t);
                return string.Create(CultureInfo.InvariantCulture, $"{t:0.00},0.002,{0.003 * random.NextDouble():0.000},{1 + swing + 0.005 * random.NextDouble():0.000}");
            }),
        ]);
    }
}
