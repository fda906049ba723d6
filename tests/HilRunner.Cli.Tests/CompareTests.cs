using System.Text.Json;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>Builds of the virtual device, played and compared as a user does it.</summary>
public class CompareTests
{
    private TemporaryFolder _folder = null!;

    [OneTimeSetUp]
    public void Play()
    {
        _folder = TestPaths.NewFolder();
        Play("good", model => model, "--repeat", "2", "--seed", "3");
        Play("same", model => model, "--seed", "9");
        Play("deaf", model => model.Replace("below: 520", "below: 1300", StringComparison.Ordinal));
        Play("slow", model => model.Replace("carried: 3, conveyed: 3", "carried: 5, conveyed: 5", StringComparison.Ordinal));
    }

    [OneTimeTearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void TheSameImageShowsNoChange()
    {
        var result = Compare("good", "same");
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        Assert.That(result.Output, Does.StartWith("no change shown: every trial came out as before; it takes a drop of"));
        Assert.That(result.Output, Does.Contain("12 runs before, 6 now; 40 trials paired"));
        Assert.That(result.Output.Split('\n').Max(l => l.Length), Is.LessThanOrEqualTo(Math.Max(80, _folder.Path.Length + 20)));
    }

    [TestCase("deaf", "conveyed recognised", "100.0 % to 12.5 % of plays")]
    [TestCase("slow", "conveyed reaction", "+500 ms (+500 to +500 ms)")]
    public void AWorseBuildIsWorseInWhatItsDefectTouches(string build, string measure, string change)
    {
        var result = Compare("good", build);
        Assert.That(result.Code, Is.EqualTo(1), result.Output + result.Errors);
        string row = result.Output.Split('\n').Single(l => l.TrimStart().StartsWith(measure, StringComparison.Ordinal));
        Assert.That(row, Does.Contain("worse").And.Contain(change));
        string page = File.ReadAllText(_folder.File("compare.html"));
        Assert.That(page, Does.Contain("Trials that changed").And.Contain(">candidate</a>").And.Contain("<svg"));
        Assert.That(Compare(build, "good").Code, Is.Zero, "the other way round it is better");
    }

    [Test]
    public void FoldersAreComparedToo()
    {
        string[] batches = [.. Directory.GetDirectories(_folder.File("runs")).Order(StringComparer.Ordinal)];
        var result = Hil.Run("compare", batches[0], batches[2], "--json");
        Assert.That(result.Code, Is.EqualTo(1), result.Errors);
        var json = JsonDocument.Parse(result.Output).RootElement;
        Assert.That(json.GetProperty("outcome").GetString(), Is.EqualTo("worse"));
        // Seven trials of five scenarios, each played twice before and once now: one of three choices in each.
        var conveyed = json.GetProperty("differences").EnumerateArray().Single(d => d.GetProperty("measure").GetString() == "recognised" && d.GetProperty("class").GetString() == "conveyed");
        Assert.That((conveyed.GetProperty("lost").GetInt32(), conveyed.GetProperty("p").GetDouble()), Is.EqualTo((7,
            1 / 243.0)).Using<(int, double)>((a, b) => a.Item1 == b.Item1 && Math.Abs(a.Item2 - b.Item2) < 1e-9));
        Assert.That(conveyed.GetProperty("rests_on").GetString(), Is.EqualTo("these recordings"));
        Assert.That(File.Exists(Path.Combine(batches[2], "compare.html")));
        string run = Directory.GetDirectories(batches[0]).Order(StringComparer.Ordinal).First(d => File.Exists(Path.Combine(d, "run.yaml")));
        Assert.That(Hil.Run("compare", run, run).Code, Is.EqualTo(2), "a run against itself has too few trials of every class");
    }

    [Test]
    public void ABuildThatIsNotThereIsSaidWithThoseThatAre()
    {
        var result = Compare("good", "1.5.0");
        Assert.That(result.Code, Is.EqualTo(65));
        Assert.That(result.Errors, Does.Contain("1.5.0: neither a folder of runs nor a build with runs in").And.Contain("one of the builds deaf, good, same, slow"));
    }

    [TestCase("good", 0, "since good  no change shown: every trial came out as before")]
    [TestCase("deaf", 1, "fail: worse than good: conveyed recognised: lost 10, gained 0 of 10")]
    public void ARunIsHeldAgainstItsBaseline(string build, int code, string words)
    {
        // Limits that the deaf build keeps: only the comparison can find it.
        File.WriteAllText(_folder.File("loose.yaml"), "suite: parcel tag\nscenarios: [loose-scenario.yaml]\n");
        string scenarios = string.Join('\n', Enumerable.Range(0, 6).Select(i =>
            "  - synth: {rest: 8 s, class: resting}\n  - synth: {tone: 16 Hz, peak: 0.3 g, axis: z, for: 8 s, class: conveyed}"));
        string recording = Path.Combine(TestPaths.Root, "scenarios", "parcel", "recordings", "belt.csv");
        File.WriteAllText(_folder.File("loose-scenario.yaml"), $"scenario: loose\nstimulus:\n{scenarios}\n  - play: {recording}\n  - play: {recording}\nlead: 3 s\nwithin: 4 s\nlimits: [{{measure: device_resets, at_most: 0}}]\n");
        string runs = _folder.File("baseline-" + build);
        var before = Hil.Run("run", _folder.File("loose.yaml"), "--rig", _folder.File("good.yaml"), "--out", runs, "--build", "good");
        Assert.That(before.Code, Is.Zero, before.Output + before.Errors);
        var result = Hil.Run("run", _folder.File("loose.yaml"), "--rig", _folder.File(build + ".yaml"), "--out", runs, "--build", "new", "--baseline", "good", "--summary", _folder.File("summary.txt"));
        Assert.That(result.Code, Is.EqualTo(code), result.Output + result.Errors);
        Assert.That(System.Text.RegularExpressions.Regex.Replace(result.Output, @"\s+", " "), Does.Contain(System.Text.RegularExpressions.Regex.Replace(words, @"\s+", " ")));
        string batch = Directory.GetDirectories(runs).Order(StringComparer.Ordinal).Last();
        string report = File.ReadAllText(Path.Combine(batch, "report.html"));
        Assert.That(report, Does.Contain("href=\"compare.html\"").And.Contain("since good"));
        Assert.That(report.IndexOf("<h2 id=\"since\">Since good</h2>", StringComparison.Ordinal), Is.Positive.And.LessThan(report.IndexOf("<h2 id=\"runs\"", StringComparison.Ordinal)), "what changed comes first");
        Assert.That(File.ReadAllText(Path.Combine(batch, "junit.xml")), Does.Contain("compared with good"));
        string[] summary = File.ReadAllLines(Path.Combine(batch, "summary.txt"));
        Assert.That(summary[0], Is.EqualTo(code == 0 ? "pass: parcel tag, build new: 1 of 1 runs passed; no change shown since good" : "fail: parcel tag, build new: 1 of 1 runs passed; worse than good"));
        Assert.That(summary[^1], Is.EqualTo(Path.Combine(batch, "report.html")), "the whole of it, to be opened");
        Assert.That(File.ReadAllLines(_folder.File("summary.txt")), Is.EqualTo(summary));
        Assert.That(Hil.Run("report", batch).Code, Is.Zero);
        Assert.That(File.ReadAllText(Path.Combine(batch, "report.html")), Is.EqualTo(report), "the same from what is stored");
    }

    [Test]
    public void ABaselineThatIsNotThereCostsNoNight()
    {
        var result = Hil.Run("run", "scenarios/parcel", "--rig", _folder.File("good.yaml"), "--out", _folder.File("runs"), "--baseline", "0.9");
        Assert.That(result.Code, Is.EqualTo(65), result.Output);
        Assert.That(Directory.GetDirectories(_folder.File("runs")), Has.Length.EqualTo(4));
    }

    private HilResult Compare(string baseline, string candidate) =>
        Hil.Run("compare", baseline, candidate, "--runs", _folder.File("runs"), "--out", _folder.File("compare.html"));

    private void Play(string build, Func<string, string> change, params string[] options)
    {
        string model = _folder.File(build + ".model.yaml"), rig = _folder.File(build + ".yaml");
        File.WriteAllText(model, change(File.ReadAllText(Path.Combine(TestPaths.Root, "scenarios", "parcel", "model.yaml"))));
        File.WriteAllText(rig, File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml")).Replace("../scenarios/parcel/model.yaml", model, StringComparison.Ordinal));
        var result = Hil.Run(["run", "scenarios/parcel", "--rig", rig, "--out", _folder.File("runs"), "--build", build, .. options]);
        Assert.That(result.Code, Is.LessThanOrEqualTo(2), result.Output + result.Errors);
    }
}
