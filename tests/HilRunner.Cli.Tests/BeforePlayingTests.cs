using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>What is found, and done, before the first sample is played.</summary>
public class BeforePlayingTests
{
    private const string Belt = "scenarios/parcel/belt.yaml";

    [Test]
    public void PrepareCommandsRunInOrderWithTheImageAsOneArgument()
    {
        using var folder = TestPaths.NewFolder();
        string image = folder.File("night build.bin");
        File.WriteAllText(image, "image");
        string rig = Rig(folder, $"[[cp, '{{image}}', '{folder.File("flashed")}'], [cp, '{folder.File("flashed")}', '{folder.File("checked")}']]");
        var result = Hil.Run("run", Belt, "--rig", rig, "--image", image, "--out", folder.File("runs"), "--quiet");
        Assert.That(result.Code, Is.Zero, result.Errors);
        Assert.That(File.ReadAllText(folder.File("checked")), Is.EqualTo("image"));
    }

    [TestCase("[[ls, /no/such/place]]", "failed with exit code 2")]
    [TestCase("[[no-such-program]]", "could not be started")]
    [TestCase("[{program: sleep, args: ['30'], limit: 200 ms}]", "took longer than 0.2 s")]
    public void ARigThatCannotBePreparedIsAnErrorAndNothingIsPlayed(string prepare, string said)
    {
        using var folder = TestPaths.NewFolder();
        var result = Hil.Run("run", Belt, "--rig", Rig(folder, prepare), "--out", folder.File("runs"));
        Assert.That(result.Code, Is.EqualTo(3), result.Errors);
        Assert.That(result.Errors, Does.Contain(said));
        Assert.That(Directory.Exists(folder.File("runs")), Is.False);
    }

    [Test]
    public void AnImageThatIsNeededAndNotGivenIsWrongUsage()
    {
        using var folder = TestPaths.NewFolder();
        var result = Hil.Run("run", Belt, "--rig", Rig(folder, "[[echo, '{image}']]"), "--out", folder.File("runs"));
        Assert.That(result.Code, Is.EqualTo(64), result.Errors);
        Assert.That(result.Errors, Does.Contain("--image"));
    }

    [Test]
    public void ARecordingThatCannotBePlayedIsFoundBeforeTheFirstRun()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("1.yaml"), "scenario: good\nstimulus:\n  - synth: {rest: 5 s, class: resting}\n");
        File.WriteAllText(folder.File("2.yaml"), "scenario: bad\nstimulus:\n  - play: bad.csv\n");
        File.WriteAllText(folder.File("bad.csv"), "ax_g,ay_g,az_g\n0,0,1\n0,much,1\n");
        File.WriteAllText(folder.File("bad.yaml"), "rate: 100 Hz\n");
        var result = Hil.Run("run", folder.File("1.yaml"), folder.File("2.yaml"), "--rig", "rigs/virtual.yaml", "--out", folder.File("runs"));
        Assert.That(result.Code, Is.EqualTo(65), result.Errors);
        Assert.That(result.Errors, Does.Contain("bad.csv:3:3"));
        Assert.That(Directory.Exists(folder.File("runs")), Is.False);
    }

    [Test]
    public void TwoRunsAtOnceIntoOneFolderKeepApart()
    {
        using var folder = TestPaths.NewFolder();
        var codes = new int[2];
        Parallel.For(0, 2, i => codes[i] = Hil.Run("run", Belt, "--rig", "rigs/virtual.yaml", "--out", folder.Path, "--quiet").Code);
        Assert.That(codes, Is.EqualTo(new[] { 0, 0 }));
        Assert.That(Directory.GetDirectories(folder.Path), Has.Length.EqualTo(2));
    }

    private static string Rig(TemporaryFolder folder, string prepare)
    {
        string text = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml"))
            .Replace("../scenarios", Path.Combine(TestPaths.Root, "scenarios"), StringComparison.Ordinal);
        string path = folder.File("rig.yaml");
        File.WriteAllText(path, text.TrimEnd() + "\nprepare: " + prepare + "\n");
        return path;
    }
}
