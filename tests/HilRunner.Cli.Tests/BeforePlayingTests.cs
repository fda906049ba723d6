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
    public void WhatPrepareCommandsPrintIsKeptAndOneThatFailsIsTriedAgain()
    {
        using var folder = TestPaths.NewFolder();
        // Fails the first time: the folder that it makes is not there yet for the second command's sake.
        File.WriteAllText(folder.File("flash.py"), "import os, sys\nprint('flashing', sys.argv[1])\nif not os.path.exists(sys.argv[2]):\n    open(sys.argv[2], 'w').close()\n    sys.exit('no answer from the probe')\n");
        string prepare = $"[{{program: /usr/bin/python3, args: ['{folder.File("flash.py")}', '{{rig}}', '{folder.File("tried")}'], retries: 1}}]";
        var result = Hil.Run("run", Belt, "--rig", Rig(folder, prepare), "--out", folder.File("runs"), "--quiet");
        Assert.That(result.Code, Is.Zero, result.Errors);
        string log = File.ReadAllText(Path.Combine(Directory.GetDirectories(folder.File("runs")).Single(), "prepare.log"));
        Assert.That(log, Does.Match(@"(?s)^\$ /usr/bin/python3 .*flashing virtual\nno answer from the probe\nexit code 1\n\$ .*flashing virtual\nexit code 0\n$"));
    }

    [Test]
    public void APortIsWantedOnlyWhereThereIsOne()
    {
        using var folder = TestPaths.NewFolder();
        var result = Hil.Run("run", Belt, "--rig", Rig(folder, "[[echo, '{port}']]"), "--out", folder.File("runs"));
        Assert.That((result.Code, result.Errors), Is.EqualTo((3, "hil: prepare: rig virtual has no serial port; {port} and port: need one\n")));
        Assert.That(Hil.Run("run", Belt, "--rig", Rig(folder, "[[echo, '{prot}']]"), "--out", folder.File("runs")).Errors, Does.Contain("unknown placeholder {prot}").And.Contain("{port}, the path of the rig's port"));
    }

    /// <summary>A device that runs another build than the one given is found before anything is played; nothing of the batch is.</summary>
    [TestCase("same: [version]", "--build", "1.5.0", "the device says version 1.0.0, expected 1.5.0; nothing was played: was it flashed, and is it the right board?")]
    [TestCase("same: [image]", "--image", "other.bin", "the device says image 6105d6, expected")]
    public void AWrongBuildIsAnErrorBeforeAnythingIsPlayed(string same, string option, string value, string said)
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("other.bin"), "another image");
        string rig = SameRig(folder, same);
        var result = Hil.Run("run", "scenarios/parcel", "--rig", rig, "--out", folder.File("runs"), option, option == "--image" ? folder.File(value) : value);
        Assert.That(result.Code, Is.EqualTo(3), result.Output + result.Errors);
        Assert.That(System.Text.RegularExpressions.Regex.Replace(result.Output, @"\s+", " "), Does.Contain(said));
        string batch = Directory.GetDirectories(folder.File("runs")).Single();
        Assert.That(Directory.GetDirectories(batch).Where(r => File.Exists(Path.Combine(r, "playout.csv")) && new FileInfo(Path.Combine(r, "playout.csv")).Length > 0), Is.Empty, "no sample was sent, and each scenario has its reason");
        string[] cases = [.. File.ReadAllLines(Path.Combine(batch, "junit.xml")).Where(l => l.Contains("<error type=\"error\"", StringComparison.Ordinal))];
        Assert.That(cases, Has.Length.GreaterThan(1).And.All.Contain("the device says"));
        Assert.That(cases.Skip(1), Has.All.Contain("not played, since no rig was left"));
        Assert.That(Hil.Run("report", batch).Code, Is.Zero);
    }

    [TestCase("same: [version]", "--build", "1.0.0")]
    [TestCase("same: [version, image]", "--build", "1.0.0", "--image", "right.bin")]
    public void TheRightBuildIsPlayed(string same, params string[] options)
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("right.bin"), "image");
        var result = Hil.Run(["run", Belt, "--rig", SameRig(folder, same), "--out", folder.File("runs"), "--quiet", .. options.Select(o => o == "right.bin" ? folder.File(o) : o)]);
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
    }

    [Test]
    public void ABuildThatARigAsksForMustBeGiven()
    {
        using var folder = TestPaths.NewFolder();
        var result = Hil.Run("run", Belt, "--rig", SameRig(folder, "same: [image]"), "--out", folder.File("runs"));
        Assert.That((result.Code, result.Errors.Split('\n')[0]), Is.EqualTo((64, "hil: this rig plays only a build that it knows (identity.same: image): give --image FILE")));
    }

    /// <summary>The virtual device says the first digits of SHA-256("image").</summary>
    private static string SameRig(TemporaryFolder folder, string same)
    {
        string text = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml"))
            .Replace("../scenarios/parcel/model.yaml", Path.Combine(TestPaths.Root, "scenarios", "parcel", "model.yaml"), StringComparison.Ordinal)
            .Replace("version: 1.0.0}", "version: 1.0.0, image: 6105d6}", StringComparison.Ordinal)
            .Replace("identity: {ask: \"id\",", "identity: {" + same + ", ask: \"id\",", StringComparison.Ordinal);
        File.WriteAllText(folder.File("same.yaml"), text);
        return folder.File("same.yaml");
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

    private static string Rig(TemporaryFolder folder, string prepare, string more = "")
    {
        string text = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml"))
            .Replace("../scenarios", Path.Combine(TestPaths.Root, "scenarios"), StringComparison.Ordinal);
        string path = folder.File("rig.yaml");
        File.WriteAllText(path, text.TrimEnd() + "\nmay_erase: firmware\nprepare: " + prepare + "\n" + more);
        return path;
    }
}
