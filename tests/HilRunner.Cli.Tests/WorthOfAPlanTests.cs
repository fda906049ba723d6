using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>
/// What a plan is worth before a device is played: whether one that hears nothing would be accepted, whether its recordings are
/// what their names say, and how often it was tried before.
/// </summary>
public sealed class WorthOfAPlanTests
{
    private const string Belt = "  - {measure: recognised, class: conveyed, at_least: 0.55, confidence: 0.9}\n";
    private const string Rest = "  - {measure: recognised, class: resting, at_least: 0.55, confidence: 0.9}\n";

    [Test]
    public void APlanThatASilentGuessWouldPassIsRefusedWithTheClaimThatIsMissing()
    {
        using var folder = TestPaths.NewFolder();
        var refused = Hil.Run("accept", Plan(folder, "hold: 500 ms\n", Rest), "--rig", "rigs/virtual.yaml", "--plan-only");
        Assert.That(refused.Code, Is.EqualTo(65));
        Assert.That(refused.Errors,
            Does.Contain("a device that hears nothing would pass (always resting): missing is a claim on recognised of conveyed"));
        var meant = Hil.Run("accept", Plan(folder, "hold: 500 ms\nhearing_nothing: accepted\n", Rest), "--rig",
            "rigs/virtual.yaml", "--plan-only");
        Assert.That(meant.Code, Is.Zero, meant.Errors);
        Assert.That(OneLine(meant.Output), Does.Contain("a device that hears nothing would pass (always resting)"));
        var whole = Hil.Run("accept", Plan(folder, "hold: 500 ms\n", Rest, Belt), "--rig", "rigs/virtual.yaml", "--plan-only");
        Assert.That(whole.Code, Is.Zero, whole.Errors);
        Assert.That(OneLine(whole.Output),
            Does.Match(@"devices that hear nothing: \d{4} tried \(saying nothing, one class all the time, cycling, random\); (none passes|\d random ones? pass(es)? by luck)"));
    }

    [Test]
    public void ADeviceThatCyclesThroughTheClassesPassesWhereAFlickerIsEnough()
    {
        using var folder = TestPaths.NewFolder();
        var refused = Hil.Run("accept", Plan(folder, "hold: 0 s\n", Rest, Belt), "--rig", "rigs/virtual.yaml", "--plan-only");
        Assert.That(refused.Code, Is.EqualTo(65));
        Assert.That(refused.Errors,
            Does.Match(@"would pass \(cycling through the classes, 0\.2 s each\): missing is hold: of more than 0\.2 s, or a limit on chatter"));
    }

    [Test]
    public void TheReportOfASuiteSaysWhatSuchDevicesWouldGet()
    {
        using var folder = TestPaths.NewFolder();
        Scenarios(folder, 1, "limits: [{measure: missed, class: conveyed, at_most: 0}]\n");
        var result = Hil.Run("run", folder.File("made-1.yaml"), "--rig", "rigs/virtual.yaml", "--out", folder.File("runs"));
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        string report = File.ReadAllText(Directory.GetFiles(folder.File("runs"), "report.html",
            SearchOption.AllDirectories).MinBy(p => p.Length)!);
        Assert.That(report,
            Does.Contain("Devices that hear nothing").And.Contain("always resting").And.Contain("always conveyed"));
        Assert.That(report,
            Does.Contain("A device that hears nothing would pass (always conveyed): missing is a claim on recognised of resting"));
        Assert.That(OneLine(Hil.Run("run", folder.File("made-1.yaml"), "--rig", "rigs/virtual.yaml", "--out",
            folder.File("runs"), "--plan-only").Output),
            Does.Contain("a device that hears nothing would pass (always conveyed)"));
    }

    [Test]
    public void TheSameMotionUnderTwoNamesCountsOnceAndThePairIsNamed()
    {
        using var folder = TestPaths.NewFolder();
        string recording = File.ReadAllText(Path.Combine(TestPaths.Root, "scenarios/parcel/recordings/belt.csv"));
        File.WriteAllText(folder.File("a.csv"), recording);
        // One digit more in every number, another name, another source, and everything a second later.
        File.WriteAllText(folder.File("b.csv"), Regex.Replace(recording, @"(?<=,)-?\d+\.\d+", m => m.Value + "3"));
        foreach (string name in (string[])["a", "b"])
        {
            File.Copy(Path.Combine(TestPaths.Root, "scenarios/parcel/recordings/belt.labels.csv"),
                folder.File(name + ".labels.csv"));
            string side = Regex.Replace(File.ReadAllText(Path.Combine(TestPaths.Root, "scenarios/parcel/recordings/belt.yaml")),
                @"(?m)^source:.*$", $"source: parcel {name}");
            Assert.That(side, Does.Contain($"source: parcel {name}"), "the demo's recording names its source");
            File.WriteAllText(folder.File(name + ".yaml"), side);
            File.WriteAllText(folder.File(name + ".scenario.yaml"),
                $"scenario: {name}\nstimulus: [{{play: {name}.csv}}]\nlead: 3 s\nwithin: 4 s\n");
        }
        File.WriteAllText(folder.File("plan.yaml"),
            $"acceptance: two names\nhold: 500 ms\nhearing_nothing: accepted\nscenarios: [a.scenario.yaml, b.scenario.yaml]\nclaims:\n{Belt}");
        var plan = Hil.Run("accept", folder.File("plan.yaml"), "--rig", "rigs/virtual.yaml", "--plan-only", "--json");
        var json = JsonDocument.Parse(plan.Output).RootElement;
        Assert.That(json.GetProperty("claims")[0].GetProperty("independent").GetInt32(), Is.EqualTo(1));
        var pair = json.GetProperty("same_motions").EnumerateArray().Single();
        Assert.That((pair.GetProperty("first").GetString(), pair.GetProperty("second").GetString()), Is.EqualTo(("a.csv",
            "b.csv")));
        var played = Hil.Run("accept", folder.File("plan.yaml"), "--rig", "rigs/virtual.yaml", "--out", folder.File("runs"));
        string evidence = File.ReadAllText(Directory.GetFiles(folder.File("runs"), "report.html",
            SearchOption.AllDirectories).MinBy(p => p.Length)!);
        Assert.That(evidence, Does.Contain("a.csv and b.csv hold the same motion"), played.Output + played.Errors);
        Assert.That(evidence, Does.Match("1 independent trial"));
        var inspected = Hil.Run("inspect", folder.File("a.csv"), folder.File("b.csv"));
        Assert.That(inspected.Errors,
            Does.Match(@"a\.csv and \S+b\.csv hold the same motion, \d+\.\d s of it, from 0\.0 s of the first on"));
    }

    [Test]
    public void SourcesThatDifferByCaseOrBlanksAreOne()
    {
        using var folder = TestPaths.NewFolder();
        string[] sources = ["parcel 7", "Parcel  7", "\" parcel 7 \""];
        for (int i = 0; i < sources.Length; i++)
        {
            // Each with a motion of its own: other tones for as long.
            var random = new Random(i);
            var rows = Enumerable.Range(0, 800).Select(n => FormattableString.Invariant(
                $"0,0,{1 + 0.3 * Math.Sin(2 * Math.PI * (14 + i) * n / 100) + 0.02 * random.NextDouble():0.0000}"));
            File.WriteAllText(folder.File($"m{i}.csv"), "ax_g,ay_g,az_g\n" + string.Join('\n', rows) + "\n");
            File.WriteAllText(folder.File($"m{i}.labels.csv"), "start_s,end_s,class\n0,8,conveyed\n");
            File.WriteAllText(folder.File($"m{i}.yaml"), $"rate: 100 Hz\nsource: {sources[i]}\n");
            File.WriteAllText(folder.File($"s{i}.yaml"), $"scenario: s{i}\nstimulus: [{{play: m{i}.csv}}]\nlead: 3 s\nwithin: 4 s\n");
        }
        File.WriteAllText(folder.File("plan.yaml"),
            $"acceptance: one parcel\nhold: 500 ms\nhearing_nothing: accepted\nscenarios: [s0.yaml, s1.yaml, s2.yaml]\nclaims:\n{Belt}");
        var plan = Hil.Run("accept", folder.File("plan.yaml"), "--rig", "rigs/virtual.yaml", "--plan-only", "--json");
        var json = JsonDocument.Parse(plan.Output).RootElement;
        Assert.That(json.GetProperty("same_motions").GetArrayLength(), Is.Zero, "three motions");
        Assert.That(json.GetProperty("claims")[0].GetProperty("independent").GetInt32(), Is.EqualTo(1), "of one parcel");
    }

    [Test]
    public void TheEvidenceListsEarlierAttemptsAtTheSamePlanOnTheSameImage()
    {
        using var folder = TestPaths.NewFolder();
        string plan = Plan(folder, "hold: 500 ms\n", Rest, Belt), image = folder.File("image.bin"),
            other = folder.File("other.bin");
        File.WriteAllText(image, "one");
        File.WriteAllText(other, "two");
        string[] options = ["--rig", "rigs/virtual.yaml", "--history", folder.File("history.db")];
        var first = Hil.Run(["accept", plan, .. options, "--image", image, "--out", folder.File("runs")]);
        Assert.That(first.Code, Is.Zero, first.Output + first.Errors);
        Hil.Run(["accept", plan, .. options, "--image", other, "--out", folder.File("runs")]);
        Assert.That(Evidence(folder.File("runs"), 0), Does.Contain("No earlier attempt at this plan on this image was found"));
        Assert.That(Evidence(folder.File("runs"), 1), Does.Contain("No earlier attempt"), "another image");
        var third = Hil.Run(["accept", plan, .. options, "--image", image, "--out", folder.File("runs")]);
        Assert.That(third.Errors, Does.Contain("attempt 2 at this plan on this image: before it 1 accepted"));
        string evidence = Evidence(folder.File("runs"), 2);
        Assert.That(evidence,
            Does.Contain("Attempt 2 at this plan on this image: before it 1 accepted.").And.Contain("The confidence of a claim is that of a single attempt"));
        Assert.That(evidence.IndexOf("Attempt 2 at this plan", StringComparison.Ordinal), Is.LessThan(evidence.IndexOf("<main",
            StringComparison.Ordinal)), "in its first part");
        // Elsewhere: only the history knows them.
        var elsewhere = Hil.Run(["accept", plan, .. options, "--image", image, "--out", folder.File("elsewhere")]);
        Assert.That(elsewhere.Errors, Does.Contain("attempt 3 at this plan on this image: before it 2 accepted"));
        string again = Directory.GetDirectories(folder.File("elsewhere")).Single(), written = Evidence(folder.File("elsewhere"),
            0);
        Assert.That(Hil.Run("report", again).Code, Is.Zero);
        Assert.That(Evidence(folder.File("elsewhere"), 0), Is.EqualTo(written), "the same from what is stored");
    }

    private static string Evidence(string runs, int number) =>
        File.ReadAllText(Path.Combine(Directory.GetDirectories(runs).Order(StringComparer.Ordinal).ElementAt(number),
            "evidence.html"));

    private static string OneLine(string text) => Regex.Replace(text, @"\s+", " ");

    /// <param name="says">Where a flicker is not enough, the scenarios limit chatter, too.</param>
    private static string Plan(TemporaryFolder folder, string says, params string[] claims)
    {
        bool quiet = says.Contains("500 ms", StringComparison.Ordinal);
        Scenarios(folder, 4, quiet ? "limits: [{measure: chatter_per_minute, at_most: 4}]\n" : "");
        string path = folder.File("plan.yaml");
        File.WriteAllText(path,
            $"acceptance: parcel\ndelivery: not shown is accepted\n{says}scenarios: [made-1.yaml, made-2.yaml, made-3.yaml, made-4.yaml]\nclaims:\n{string.Concat(claims)}");
        return path;
    }

    /// <summary>Each rests and is conveyed, for other times and in another order than the one before.</summary>
    private static void Scenarios(TemporaryFolder folder, int count, string limits)
    {
        for (int i = 1; i <= count; i++)
        {
            string[] steps =
            [
                FormattableString.Invariant($"  - synth: {{rest: {5 + 3 * i} s, class: resting}}\n"),
                FormattableString.Invariant($"  - synth: {{tone: {13 + i} Hz, peak: 0.3 g, axis: z, for: {16 - 2 * i} s, class: conveyed}}\n"),
            ];
            string order = string.Concat(i % 2 == 1 ? steps : steps.Reverse());
            File.WriteAllText(folder.File(string.Create(CultureInfo.InvariantCulture, $"made-{i}.yaml")),
                $"scenario: made {i}\nstimulus:\n{order}lead: 3 s\nwithin: 4 s\n{limits}");
        }
    }
}
