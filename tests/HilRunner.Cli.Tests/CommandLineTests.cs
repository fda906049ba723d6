using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

public class CommandLineTests
{
    [Test]
    public void EveryCommandHasHelpWithAnExample()
    {
        var root = Hil.Run("--help");
        Assert.That(root.Code, Is.Zero);
        foreach (string command in new[] { "run", "score", "report", "import", "inspect", "record", "check", "ports", "listen", "device" })
        {
            Assert.That(root.Output, Does.Contain($"  {command}"));
            var help = Hil.Run(command, "--help");
            Assert.That(help.Code, Is.Zero, command);
            Assert.That(help.Output, Does.Contain("Example").And.Contain($"hil {command}"), command);
        }
        Assert.That(root.Output, Does.Not.Contain("player"), "the player is no command for people");
    }

    [TestCase("run", "scenarios/parcel")]
    [TestCase("run", "--rig", "rigs/virtual.yaml")]
    [TestCase("fly")]
    [TestCase("run", "scenarios/parcel", "--rig", "rigs/virtual.yaml", "--speed", "fast")]
    [TestCase("run", "scenarios/parcel", "--rig", "rigs/virtual.yaml", "--repeat", "0")]
    [TestCase("run", "scenarios/parcel", "--rig", "rigs/virtual.yaml", "--link", "carrier-pigeon:coop")]
    [TestCase("run", "scenarios/parcel", "--rig", "rigs/virtual.yaml", "--frobnicate")]
    [TestCase("run", "scenarios/parcel", "--rig", "rigs/virtual.yaml", "--repeat", "many")]
    [TestCase("run", "scenarios/parcel", "--rig", "rigs/virtual.yaml", "--out", "README.md")]
    [TestCase("run", "scenarios/parcel", "--rig", "rigs/virtual.yaml", "--junit", "README.md/junit.xml")]
    [TestCase("listen", "--rig", "rigs/virtual.yaml", "--for", "-1s")]
    [TestCase("score", "--expected", "e.csv", "--decisions", "d.csv", "--end", "-1s")]
    [TestCase("inspect")]
    [TestCase("inspect", "scenarios/parcel/recordings/morning.csv", "--rate", "50")]
    [TestCase("inspect", "scenarios/parcel/recordings/morning.csv", "--html", "no-such-folder/page.html")]
    [TestCase("inspect", "scenarios/parcel/recordings/morning.csv", "--reference", "scenarios/parcel/suite.yaml")]
    [TestCase("score")]
    [TestCase("import")]
    [TestCase("import", "README.md", "--to", "xml")]
    [TestCase("import", "a.csv", "b.csv", "--name", "c")]
    [TestCase("score", "--expected", "e.csv")]
    [TestCase("score", "--expected", "e.csv", "--decisions", "d.csv", "--end", "60")]
    public void WrongUsageIs64AndSaysWhatToDo(params string[] arguments)
    {
        var result = Hil.Run(arguments);
        Assert.That(result.Code, Is.EqualTo(64), result.Errors);
        Assert.That(result.Errors, Does.StartWith("hil: ").And.Not.Contain("System."));
        Assert.That(result.Errors, Does.Not.Contain("   at "), "a stack trace is a bug");
    }

    [TestCase("run", "no-such-folder", "--rig", "rigs/virtual.yaml")]
    [TestCase("run", "scenarios/parcel", "--rig", "no-such-rig.yaml")]
    [TestCase("inspect", "no-such-recording.csv")]
    [TestCase("inspect", "no-such-scenario.yaml")]
    [TestCase("inspect", "scenarios/parcel/recordings/morning.csv", "--model", "no-such-model.yaml")]
    [TestCase("score", "no-such-run")]
    [TestCase("score", "--expected", "no.csv", "--decisions", "no.csv", "--end", "60s")]
    [TestCase("check", "scenarios/parcel/suite.yaml")]
    [TestCase("import", "README.md")]
    [TestCase("import", "no-such.csv")]
    [TestCase("import", "README.md", "--map", "scenarios/parcel/suite.yaml")]
    [TestCase("run", "scenarios/parcel", "--rig", "rigs/virtual.yaml", "--link", "builtin:lines?model=no-such-model.yaml")]
    public void BadInputIs65AndNamesTheFile(params string[] arguments)
    {
        var result = Hil.Run(arguments);
        Assert.That(result.Code, Is.EqualTo(65), result.Errors);
        Assert.That(result.Errors, Does.Contain("expected"));
        Assert.That(result.Errors, Does.Not.Contain("   at "), "a stack trace is a bug");
    }

    [Test]
    public void FaultsOfAllFilesAreReportedAtOnce()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("a.yaml"), "scenario: a\nstimulus:\n  - synth: {rest: 10, class: resting}\n");
        File.WriteAllText(folder.File("b.yaml"), "scenario: b\nstimulos: []\n");
        var result = Hil.Run("run", folder.Path, "--rig", "rigs/virtual.yaml");
        Assert.That(result.Code, Is.EqualTo(65));
        Assert.That(result.Errors, Does.Contain("a.yaml:3:").And.Contain("b.yaml:2:1").And.Contain("stimulus"));
    }

    [Test]
    public void VersionIsPrinted()
    {
        var result = Hil.RunProcess("--version");
        Assert.That(result.Code, Is.Zero);
        Assert.That(result.Output.Trim(), Does.Match(@"^\d+\.\d+\.\d+"));
    }

    /// <summary>
    /// The other tests call the command line within their own process: what it says and its exit code are the executable's.
    /// </summary>
    [TestCase(64, "fly")]
    [TestCase(65, "inspect", "no-such-recording.csv")]
    [TestCase(0, "inspect", "scenarios/parcel/recordings/morning.csv", "--json")]
    [TestCase(0, "run", "--help")]
    public void TheExecutableSaysTheSameAndEndsWithItsExitCode(int code, params string[] arguments)
    {
        var executable = Hil.RunProcess(arguments);
        // The help names the program that runs it: here the tests' host.
        var here = Hil.Run(arguments);
        Assert.That(executable,
            Is.EqualTo(here with { Output = here.Output.Replace("testhost run", "hil run", StringComparison.Ordinal) }));
        Assert.That(executable.Code, Is.EqualTo(code), executable.Errors);
    }
}
