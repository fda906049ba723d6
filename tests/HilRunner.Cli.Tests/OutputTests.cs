using System.Diagnostics;
using System.Text.Json;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>What is printed goes where nobody reads it, and a terminal goes away: no run is lost to that.</summary>
[Parallelizable, Platform(Include = "Linux")]
public class OutputTests
{
    private const string Short =
        "scenario: short\nstimulus:\n  - synth: {rest: 2 s, class: resting}\nlead: 1 s\nlimits: [{measure: device_resets, at_most: 0}]\n";

    [Test]
    public void WhereNobodyReadsItTheWorkGoesOn()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("short.yaml"), Short);
        string run = $"\"$HIL\" run short.yaml --rig {TestPaths.Root}/rigs/virtual.yaml";
        string[] said = Shell(folder,
            $"{run} --out closed >&- 2>&- <&-; echo closed $?",
            $"{run} --out gone --build @short.yaml 2>&1 | head -c 1 >/dev/null; echo gone ${{PIPESTATUS[0]}}",
            // A shell that ignores it, as nohup does, is obeyed.
            $"(trap '' HUP; exec {run} --out stays >/dev/null 2>&1) & sleep 0.3; kill -HUP $!; wait $!; echo stays $?",
            "\"$HIL\" history --runs gone | head -1; echo history ${PIPESTATUS[0]}",
            "\"$HIL\" history --runs gone >/dev/full; echo full $?",
            $"{run} --out none >/dev/full 2>&1; echo none $?",
            "(ulimit -n 64; \"$HIL\" history --runs gone; echo few $?)",
            $"\"$HIL\" listen --rig {TestPaths.Root}/rigs/virtual.yaml --link 'process:sh -c \"yes c 1 resting\"' 2>/dev/null | head -1 >/dev/null; echo listen ${{PIPESTATUS[0]}}");
        Assert.Multiple(() =>
        {
            Assert.That(said, Does.Contain("closed 0").And.Contain("gone 0").And.Contain("stays 0").And.Contain("history 0"));
            Assert.That(said, Does.Contain("full 3").And.Contain("hil: not all could be printed: No space left on device"));
            Assert.That(said, Does.Contain("none 3"), "the verdict could not be printed");
            Assert.That(
                said, Does.Contain("few 3").And.Some.StartsWith(
                    "hil: this process may open 64 files at most, and hil needs 256: say ulimit -n 256 or more first"));
            Assert.That(said, Does.Contain("listen 0"), "it ends with its reader");
            Assert.That(said, Has.None.Contain("   at "), "a stack trace is a bug");
            foreach (string name in (string[])["closed", "gone", "stays", "none"])
            {
                Assert.That(Directory.GetFiles(folder.File(name), "report.html", SearchOption.AllDirectories),
                    Has.Length.EqualTo(2), name);
            }
        });
        string batch = Directory.GetFiles(folder.File("gone"), "batch.json", SearchOption.AllDirectories).Single();
        Assert.That(JsonDocument.Parse(File.ReadAllText(batch)).RootElement.GetProperty("build").GetProperty("label").GetString(),
            Is.EqualTo("@short.yaml"), "a value that begins with @ is a value");
    }

    /// <summary>The window is closed over a run: it is concluded and reported as on SIGTERM.</summary>
    [Test]
    public void ATerminalThatIsClosedInterrupts()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("long.yaml"), Short.Replace("2 s", "60 s", StringComparison.Ordinal));
        using var hil = new HilOnTerminal(
            "run", folder.File("long.yaml"), "--rig", "rigs/virtual.yaml", "--speed", "real", "--out", folder.File("runs"));
        hil.WaitFor("━");
        hil.Close();
        Hil.Await(() => Directory.GetFiles(folder.File("runs"), "summary.txt", SearchOption.AllDirectories).Length > 0,
            "the batch's summary");
        string batch = Directory.GetDirectories(folder.File("runs")).Single();
        Assert.That(File.ReadAllText(Path.Combine(batch, "summary.txt")), Does.Contain("interrupted"));
        Assert.That(Directory.GetFiles(batch, "score.json", SearchOption.AllDirectories), Has.Length.EqualTo(1));
        // The history is its last word.
        Hil.Await(() => !Process.GetProcessesByName("hil")
            .Any(p => CommandLine(p.Id).Contains(folder.Path, StringComparison.Ordinal)), "the end of the process");
    }

    private static string CommandLine(int id)
    {
        try { return File.ReadAllText($"/proc/{id}/cmdline"); }
        catch (Exception gone) when (gone is IOException or UnauthorizedAccessException) { return ""; }
    }

    private static string[] Shell(TemporaryFolder folder, params string[] lines)
    {
        var start = new ProcessStartInfo("bash",
            ["-c", "exec 2>&1\n" + string.Join('\n', lines)]) { WorkingDirectory = folder.Path, RedirectStandardOutput = true };
        start.Environment["HIL"] = Hil.Executable;
        start.Environment["NO_COLOR"] = "1";
        using var process = Process.Start(start)!;
        string said = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        TestContext.Out.WriteLine(said);
        return said.Split('\n');
    }
}
