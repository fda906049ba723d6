using System.Text.Json;
using System.Text.Json.Nodes;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>Old runs go, and what others rest on stays.</summary>
public class PruneTests
{
    private TemporaryFolder _folder = null!;

    [SetUp]
    public void SetUp()
    {
        _folder = TestPaths.NewFolder();
        File.WriteAllText(_folder.File("a.yaml"), "scenario: a\nstimulus: [{synth: {rest: 5 s, class: resting}}]\nlead: 2 s\nlimits: [{measure: missed, at_most: 0}]\n");
        Assert.That(Hil.Run("run", _folder.File("a.yaml"), "--rig", "rigs/virtual.yaml", "--out", _folder.File("runs"), "--build", "1.0", "--quiet").Code, Is.Zero);
        string first = Directory.GetDirectories(_folder.File("runs")).Single();
        // The same batch on other days: what is looked at is what batch.json says, and the folders.
        Copy(first, "night-1", -100);
        Copy(first, "night-2", -90, r => r["verdict"] = "fail");
        Copy(first, "night-3", -80, r => r["baseline"] = "../night-1");
        Copy(first, "night-4", -70);
        Copy(first, "night-5", -60, r => r["verdict"] = "fail");
        File.WriteAllText(_folder.File("runs/night-4/plan.lock"), "{}");
        Directory.Delete(first, recursive: true);
        Assert.That(Hil.Run("history", "--runs", _folder.File("runs")).Code, Is.Zero);
    }

    [TearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void NothingGoesBeforeItIsSaidTo()
    {
        var shown = Prune("--older-than", "85");
        Assert.That(shown.Output, Does.Contain("no: others are held").And.Match(@"would remove 1 batch, [\d.]+ MB; --yes does it"));
        Assert.That(Names(), Has.Length.EqualTo(5));
        Assert.That(shown.Output.Split('\n').Max(l => l.Length), Is.LessThanOrEqualTo(80));
    }

    [Test]
    public void WhatOthersRestOnStays()
    {
        var plan = JsonDocument.Parse(Prune("--older-than", "0", "--json").Output).RootElement.GetProperty("batches").EnumerateArray()
            .ToDictionary(b => Path.GetFileName(b.GetProperty("folder").GetString()!), b => b.GetProperty("kept").GetString());
        Assert.That(plan, Is.EqualTo(new Dictionary<string, string?>
        {
            // Night 3 goes, and night 1 is its baseline no longer.
            ["night-1"] = null, ["night-2"] = null, ["night-3"] = null, ["night-4"] = "the last good build of its name", ["night-5"] = "the newest of its name",
        }));
        Assert.That(Prune("--older-than", "0", "--yes").Output, Does.Contain("removed 3 batches"));
        Assert.That(Names(), Is.EqualTo(new[] { "night-4", "night-5" }));
        Assert.That(JsonDocument.Parse(Hil.Run("history", "--runs", _folder.File("runs"), "--json").Output).RootElement.GetProperty("suites")[0].GetProperty("batches").GetArrayLength(), Is.EqualTo(6), "history knows them still, and the one that was removed by hand");
    }

    [Test]
    public void EvidenceStays()
    {
        // With a newer good one, night 4 is no last good build, and stays for its plan.
        Copy(_folder.File("runs/night-4"), "night-6", -50);
        File.Delete(_folder.File("runs/night-6/plan.lock"));
        var plan = JsonDocument.Parse(Prune("--older-than", "65", "--json").Output).RootElement.GetProperty("batches").EnumerateArray()
            .Single(b => b.GetProperty("folder").GetString()!.EndsWith("night-4", StringComparison.Ordinal));
        Assert.That(plan.GetProperty("kept").GetString(), Is.EqualTo("evidence of an acceptance"));
    }

    [Test]
    public void OnlyAVerdictOrDownToASize()
    {
        Assert.That(Prune("--older-than", "75", "--verdict", "fail", "--yes").Output, Does.Contain("removed 1 batch"));
        Assert.That(Names(), Does.Not.Contain("night-2"));
        double all = new DirectoryInfo(_folder.File("runs")).EnumerateDirectories().Sum(d => d.EnumerateFiles("*", SearchOption.AllDirectories).Sum(f => f.Length)) / 1e6;
        double one = new DirectoryInfo(_folder.File("runs/night-3")).EnumerateFiles("*", SearchOption.AllDirectories).Sum(f => f.Length) / 1e6;
        string most = (all - one * 0.5).ToString(System.Globalization.CultureInfo.InvariantCulture);
        var plan = JsonDocument.Parse(Prune("--down-to", most, "--json").Output).RootElement.GetProperty("batches").EnumerateArray().Where(b => b.GetProperty("kept").ValueKind == JsonValueKind.Null).ToList();
        Assert.That(plan, Has.Count.LessThanOrEqualTo(1), "one is enough, if it may go");
    }

    [TestCase("say which", new string[0])]
    [TestCase("--verdict good: expected pass", new[] { "--older-than", "1", "--verdict", "good" })]
    [TestCase("expected 0 or more", new[] { "--older-than", "-1" })]
    public void WrongUsageIsSaid(string said, string[] options)
    {
        var result = Prune(options);
        Assert.That((result.Code, result.Errors.Contains(said, StringComparison.Ordinal)), Is.EqualTo((64, true)), result.Errors);
    }

    private HilResult Prune(params string[] options) => Hil.Run(["history", "prune", "--runs", _folder.File("runs"), .. options]);

    private string[] Names() => [.. Directory.GetDirectories(_folder.File("runs")).Select(d => Path.GetFileName(d)!).Order(StringComparer.Ordinal)];

    private void Copy(string from, string name, int days, Action<JsonObject>? change = null)
    {
        string to = _folder.File("runs/" + name);
        foreach (string file in Directory.GetFiles(from, "*", SearchOption.AllDirectories))
        {
            string target = Path.Combine(to, Path.GetRelativePath(from, file));
            Directory.CreateDirectory(Path.GetDirectoryName(target)!);
            File.Copy(file, target);
        }
        string path = Path.Combine(to, "batch.json");
        var record = JsonNode.Parse(File.ReadAllText(path))!.AsObject();
        record["started"] = DateTimeOffset.UtcNow.AddDays(days).ToString("O");
        change?.Invoke(record);
        File.WriteAllText(path, record.ToJsonString());
    }
}
