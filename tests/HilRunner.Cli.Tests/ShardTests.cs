using System.Text.Json;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>A suite played in parts on several machines, and put together.</summary>
public class ShardTests
{
    private const int Scenarios = 7;
    private TemporaryFolder _folder = null!;

    [SetUp]
    public void SetUp()
    {
        _folder = TestPaths.NewFolder();
        MadeBelts.Write(_folder, Scenarios, repeats: 2);
    }

    [TearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void PartsHoldEveryScenarioOnceAndMergeIntoOneVerdict()
    {
        string[] parts = ["1/3", "2/3", "3/3"];
        var played = new List<string>();
        foreach (string part in parts)
        {
            var result = Run("--shard", part, "--out", _folder.File(part[..1]));
            Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
            var names = JsonDocument.Parse(result.Output).RootElement.GetProperty("runs").EnumerateArray().Select(r => $"{r.GetProperty("scenario").GetString()} {r.GetProperty("repeat").GetInt32()}").ToList();
            Assert.That(names.Select(n => n[..^2]).Distinct().Count() * 2, Is.EqualTo(names.Count), "repeats of a scenario stay together");
            played.AddRange(names);
        }
        Assert.That(played, Is.Unique.And.Count.EqualTo(2 * Scenarios));

        string[] batches = [.. parts.Select(p => Directory.GetDirectories(_folder.File(p[..1])).Single())];
        var merged = Hil.Run(["report", .. batches, "--merge", _folder.File("all")]);
        Assert.That(merged.Code, Is.Zero, merged.Output + merged.Errors);
        Assert.That(merged.Output, Does.StartWith($"pass: every limit held in all {2 * Scenarios} runs, and the one over all trials\n"));
        string report = File.ReadAllText(_folder.File("all/report.html"));
        Assert.That(report, Does.Contain("7 of 7 independent trials recognised"), "no part alone has as many");
        foreach (System.Text.RegularExpressions.Match link in System.Text.RegularExpressions.Regex.Matches(report, "href=\"([^\"#]+report.html)\""))
        {
            Assert.That(File.Exists(Path.Combine(_folder.File("all"), System.Net.WebUtility.HtmlDecode(link.Groups[1].Value))), link.Value);
        }
        var few = Hil.Run("report", batches[0], batches[2], "--merge", _folder.File("few"));
        Assert.That((few.Code, few.Output.Split('\n')[0]), Is.EqualTo((3, $"error: ended after {Runs(batches[0]) + Runs(batches[2])} of {Runs(batches[0]) + Runs(batches[2])} runs: 2/3 not given")));
        Assert.That(Hil.Run("report", batches[0], batches[0], "--merge", _folder.File("twice")).Errors, Does.Contain("a part that is given twice"));
    }

    [Test]
    public void AMergedPageAmongTheRunsIsNoBaseline()
    {
        var night = Run("--out", _folder.File("runs"), "--build", "a");
        Assert.That(night.Code, Is.Zero, night.Errors);
        string batch = Directory.GetDirectories(_folder.File("runs")).Single();
        Assert.That(Hil.Run("report", batch, "--merge", _folder.File("runs/all")).Code, Is.Zero);
        Assert.That(Hil.Run("history", "--rebuild", "--runs", _folder.File("runs")).Output, Does.StartWith("1 batch taken in"), "the page is none");
        foreach (string baseline in (string[])["last-good", "a"])
        {
            var next = Run("--out", _folder.File("runs"), "--build", "b", "--baseline", baseline);
            Assert.That(next.Code, Is.Zero, next.Errors);
            Assert.That(JsonDocument.Parse(next.Output).RootElement.GetProperty("baseline").GetProperty("name").GetString(), Is.EqualTo("a"));
        }
    }

    [Test]
    public void APartIsTheSameWhenOtherScenariosComeAndGo()
    {
        string[] Names() => [.. JsonDocument.Parse(Run("--shard", "1/3", "--out", _folder.File("x")).Output).RootElement.GetProperty("runs").EnumerateArray().Select(r => r.GetProperty("scenario").GetString()!).Distinct()];
        string[] before = Names();
        string gone = Enumerable.Range(1, Scenarios).Select(i => $"part {i}").First(n => !before.Contains(n));
        File.Delete(_folder.File(gone.Replace(' ', '-') + ".yaml"));
        Assert.That(Names(), Is.EqualTo(before));
    }

    [TestCase("0/3")]
    [TestCase("4/3")]
    [TestCase("a/b")]
    [TestCase("3")]
    public void WhatIsNoPartIsSaid(string shard) => Assert.That(Run("--shard", shard).Errors, Does.Contain($"--shard {shard}: expected a part and their number, such as 2/5"));

    private HilResult Run(params string[] options) => Hil.Run(["run", _folder.File("suite.yaml"), "--rig", "rigs/virtual.yaml", "--json", .. options]);

    private static int Runs(string batch) => Directory.GetDirectories(batch).Length;
}
