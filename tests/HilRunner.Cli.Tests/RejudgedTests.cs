using System.Text.Json;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>A stored run judged by other limits and times than its scenario's: said, and kept only where that is asked
/// for.</summary>
public class RejudgedTests
{
    private TemporaryFolder _folder = null!;
    private string _run = null!;

    [OneTimeSetUp]
    public void Play()
    {
        _folder = TestPaths.NewFolder();
        var played = Hil.Run("run", "scenarios/parcel/belt.yaml", "--rig", "rigs/virtual.yaml", "--out", _folder.File("runs"));
        Assert.That(played.Code, Is.Zero, played.Output + played.Errors);
        _run = Directory.GetDirectories(Directory.GetDirectories(_folder.File("runs")).Single()).Single();
        File.WriteAllText(_folder.File("strict.yaml"), "limits:\n  - {measure: reaction, statistic: max, at_most: 10 ms}\n");
    }

    [OneTimeTearDown]
    public void End() => _folder.Dispose();

    [Test]
    public void ItIsJudgedByThemAndTheRecordStaysAsItIs()
    {
        string stored = File.ReadAllText(Score);
        var result = Hil.Run("score", _run, "--limits", _folder.File("strict.yaml"), "--within", "1ms", "--json");
        Assert.That(result.Code, Is.EqualTo(1), result.Output + result.Errors);
        using var score = JsonDocument.Parse(result.Output);
        Assert.That(score.RootElement.GetProperty("notes")[0].GetString(),
            Is.EqualTo($"judged by --limits {_folder.File("strict.yaml")} and --within 1ms, not by what the scenario says"));
        Assert.That(score.RootElement.GetProperty("trials").EnumerateArray().Select(t => t.GetProperty("recognised").GetBoolean()
            && !t.GetProperty("already").GetBoolean()), Is.All.False, "nothing is recognised within 1 ms");
        Assert.That(File.ReadAllText(Score), Is.EqualTo(stored));
        var words = Hil.Run("score", _run, "--limits", _folder.File("strict.yaml"));
        Assert.That(words.Output, Does.Contain("judged by --limits"));
        Assert.That(Hil.Run("score", _run).Code, Is.Zero);
        Assert.That(File.ReadAllText(Score), Is.EqualTo(stored), "and scored again it is what it was");
    }

    [Test]
    public void WhatComesAfterItsEndIsNotJudged()
    {
        var result = Hil.Run("score", _run, "--end", "3s", "--json");
        using var score = JsonDocument.Parse(result.Output);
        Assert.That(score.RootElement.GetProperty("trials").EnumerateArray().Max(t => t.GetProperty("end_s").GetDouble()),
            Is.EqualTo(3));
    }

    [Test]
    public void WithWriteItIsKept()
    {
        string stored = File.ReadAllText(Score);
        Assert.That(Hil.Run("score", _run, "--limits", _folder.File("strict.yaml"), "--write").Code, Is.EqualTo(1));
        Assert.That(File.ReadAllText(Score), Does.Contain("judged by --limits").And.Not.EqualTo(stored));
        Assert.That(Hil.Run("score", _run).Code, Is.Zero, "the scenario's own limits again");
        Assert.That(File.ReadAllText(Score), Is.EqualTo(stored));
    }

    [Test]
    public void NothingIsWrittenWithoutOtherRules()
    {
        var result = Hil.Run("score", _run, "--write");
        Assert.That(result.Code, Is.EqualTo(64), result.Output);
        Assert.That(result.Errors, Does.Contain("--write goes with"));
    }

    private string Score => Path.Combine(_run, "score.json");
}
