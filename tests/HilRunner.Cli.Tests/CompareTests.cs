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

    [TestCase("deaf", "conveyed recognised", "lost 7, gained 0 of 8")]
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
        var conveyed = json.GetProperty("differences").EnumerateArray().Single(d => d.GetProperty("measure").GetString() == "recognised" && d.GetProperty("class").GetString() == "conveyed");
        Assert.That((conveyed.GetProperty("lost").GetInt32(), conveyed.GetProperty("p").GetDouble()), Is.EqualTo((7, 0.015625)).Using<(int, double)>((a, b) => a.Item1 == b.Item1 && Math.Abs(a.Item2 - b.Item2) < 1e-9));
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
