using HilRunner.Cli.Tests;
using HilRunner.Core.Runs;
using HilRunner.Emulated.Tests.Bench;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Running;

/// <summary>The emulated rigs as they stand in rigs/, with their own preparation: built, started, checked, played and ended by the tool.</summary>
public sealed class RigTests
{
    private static readonly string s_out = Path.Combine(TestPaths.Root, "rigs", "emulated", "out");

    [TearDown]
    public void Nothing_is_left() => Assert.That(Emulator.ProcessIds(s_out), Is.Empty, "an emulator was left running");

    [Test]
    public void Lines_and_frames_give_the_decisions_of_the_virtual_device()
    {
        using var folder = TestPaths.NewFolder("rigs");
        var expected = Decided("scenarios/parcel/drops.yaml", "virtual", folder);
        Assert.That(expected, Has.Count.EqualTo(10));
        Assert.That(Decided("scenarios/parcel/drops.yaml", "emulated", folder), Is.EqualTo(expected));
        Assert.That(Decided("scenarios/parcel/drops.yaml", "emulated-cobs", folder), Is.EqualTo(expected));
    }

    [Test]
    public void Worn_at_a_waist_it_gives_the_decisions_of_the_virtual_device()
    {
        string data = Path.GetDirectoryName(Path.GetDirectoryName(TestPaths.OpenData("activity/labels.txt")))!;
        using var folder = TestPaths.NewFolder("rigs");
        string whole = File.ReadAllText(Path.Combine(TestPaths.Root, "scenarios", "open-data", "person-01.yaml"));
        const string play = "acc_exp01_user01.txt\n";
        Assert.That(whole, Does.Contain(play));
        // From standing into walking; lines take the emulator some time.
        string cut = folder.File("cut.yaml");
        File.WriteAllText(cut, whole[..whole.IndexOf("limits:", StringComparison.Ordinal)]
            .Replace("${HIL_OPEN_DATA}", data, StringComparison.Ordinal)
            .Replace(play, play + "    from: 140 s\n    to: 170 s\n", StringComparison.Ordinal) + "limits: [{measure: missed, at_most: 0}]\n");
        var expected = Decided(cut, "virtual-activity", folder);
        Assert.That(expected.Select(d => d.Item2).Distinct().Count(), Is.GreaterThan(1), "the cut holds a change");
        Assert.That(Decided(cut, "emulated-activity", folder), Is.EqualTo(expected));
    }

    [TestCase("emulated", "lines")]
    [TestCase("emulated-cobs", "cobs")]
    public void A_check_finds_it_healthy_and_says_who_it_is(string rig, string protocol)
    {
        Tool.Run(60, Path.Combine(TestPaths.Root, "rigs", "emulated", "build"), "--protocol", protocol);
        var result = Hil.Run("check", $"rigs/{rig}.yaml");
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        Assert.That(result.Output, Does.Contain("clock").And.Contain("version"));
    }

    private static List<(long?, string, int)> Decided(string scenario, string rig, TemporaryFolder folder)
    {
        string runs = folder.File(rig);
        var result = Hil.Run("run", scenario, "--rig", $"rigs/{rig}.yaml", "--speed", "max", "--out", runs, "--quiet");
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        return [.. DecisionsFile.Read(Directory.GetFiles(runs, RunFiles.Decisions, SearchOption.AllDirectories).Single()).Select(d => (d.Sample, d.Class, (int)Math.Round(d.Confidence!.Value * 1000)))];
    }
}
