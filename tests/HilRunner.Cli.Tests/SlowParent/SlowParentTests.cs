using System.Diagnostics;
using HilRunner.Core.Capture;
using HilRunner.Core.Runs;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests.SlowParent;

/// <summary>
/// What draws, decodes and scores may be slow, or stand still: the player does not wait for it. Told by what is on disk while the parent
/// still stands, not by times.
/// </summary>
[Platform("Linux")]
public class SlowParentTests
{
    private const int Samples = 600;
    private static readonly TimeSpan s_limit = TimeSpan.FromSeconds(60);

    [Test]
    public void ATerminalThatNobodyReadsHoldsUpNothing()
    {
        using var folder = TestPaths.NewFolder();
        var start = new ProcessStartInfo("/usr/bin/python3", [Path.Combine(TestPaths.Root, "tests", "HilRunner.Cli.Tests", "SlowParent", "unread_terminal.py"), Hil.Executable, .. Arguments(folder), "--repeat", "2"])
        {
            WorkingDirectory = TestPaths.Root,
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
        };
        using var terminal = Process.Start(start)!;
        try
        {
            WaitUntil(() => Find(folder, "junit.xml") is not null, "the batch was not concluded");
            Assert.That(Ask(terminal, "look"), Is.EqualTo("full"), "the terminal was not full at the end: the runs were not put to the test");
            string[] runs = [.. Directory.GetFiles(folder.File("runs"), RunFiles.Manifest, SearchOption.AllDirectories).Select(f => Path.GetDirectoryName(f)!)];
            Assert.That(runs, Has.Length.EqualTo(2));
            foreach (string run in runs)
            {
                AssertWhole(run);
                Assert.That(RunManifestFile.Read(Path.Combine(run, RunFiles.Manifest)).Complete);
                Assert.That(File.Exists(Path.Combine(run, RunFiles.Report)));
            }

            Assert.That(Ask(terminal, "read"), Is.EqualTo("exit 0").Or.EqualTo("exit 2"));
        }
        finally { terminal.Kill(entireProcessTree: true); }
    }

    [Test]
    public void AParentThatStandsStillHoldsUpNothing()
    {
        using var folder = TestPaths.NewFolder();
        using var parent = Hil.Start([.. Arguments(folder)]);
        try
        {
            _ = parent.StandardOutput.ReadToEndAsync();
            _ = parent.StandardError.ReadToEndAsync();
            WaitUntil(() => Find(folder, RunFiles.Playout) is { } playout && new FileInfo(playout).Length > 100, "nothing was played");
            Signal(parent, "STOP");
            string run = WaitForTheEnd(folder);
            AssertWhole(run);
            Assert.That(File.Exists(Path.Combine(run, RunFiles.Score)), Is.False, "the parent did not stand still");

            Signal(parent, "CONT");
            Assert.That(parent.WaitForExit(s_limit), "the parent did not go on");
            Assert.That(RunManifestFile.Read(Path.Combine(run, RunFiles.Manifest)).Complete);
            Assert.That(File.Exists(Path.Combine(run, RunFiles.Report)));
        }
        finally { parent.Kill(entireProcessTree: true); }
    }

    private static string[] Arguments(TemporaryFolder folder)
    {
        File.WriteAllText(folder.File("rest.yaml"), """
            scenario: six seconds
            stimulus:
              - synth: {rest: 6 s, class: resting}
            limits:
              - {measure: accuracy, at_least: 0.1}
            """);
        // How late a busy machine sends is not what is tried: a run that is late would be played again.
        string rigs = Path.Combine(TestPaths.Root, "rigs"), patient = folder.File("patient.yaml");
        File.WriteAllText(patient, File.ReadAllText(Path.Combine(rigs, "virtual.yaml"))
            .Replace("late: 50 ms", "late: 10 s", StringComparison.Ordinal)
            .Replace("../scenarios", Path.Combine(TestPaths.Root, "scenarios"), StringComparison.Ordinal));
        return ["run", folder.File("rest.yaml"), "--rig", patient, "--speed", "real", "--out", folder.File("runs")];
    }

    /// <summary>Waits until the player has ended the run, by the last event of its capture.</summary>
    private static string WaitForTheEnd(TemporaryFolder folder)
    {
        WaitUntil(() => Find(folder, RunFiles.Capture) is { } capture && EndOf(capture) is not null, "the player did not end the run");
        return Path.GetDirectoryName(Find(folder, RunFiles.Capture))!;
    }

    private static void AssertWhole(string run)
    {
        var rows = PlayoutFile.Read(Path.Combine(run, RunFiles.Playout));
        Assert.That(rows.Select(r => r.N), Is.EqualTo(Enumerable.Range(0, Samples)));
        Assert.That(rows.Select(r => r.ActualNs - r.DueNs), Has.All.GreaterThanOrEqualTo(0));
        Assert.That(EndOf(Path.Combine(run, RunFiles.Capture)), Is.EqualTo("completed"));
    }

    private static string? EndOf(string capture)
    {
        using var reader = Composition.Context.Captures.Open(capture);
        while (reader.TryRead(out CaptureRecord record))
        {
            if (record.Event is { Name: RunEventNames.Ended } end) { return end.Details["cause"]; }
        }
        return null;
    }

    private static string? Find(TemporaryFolder folder, string name) =>
        Directory.Exists(folder.File("runs")) ? Directory.GetFiles(folder.File("runs"), name, SearchOption.AllDirectories).FirstOrDefault() : null;

    private static string? Ask(Process terminal, string question)
    {
        terminal.StandardInput.WriteLine(question);
        terminal.StandardInput.Flush();
        return terminal.StandardOutput.ReadLine();
    }

    private static void Signal(Process process, string signal) => Process.Start("kill", [$"-{signal}", process.Id.ToString()]).WaitForExit();

    private static void WaitUntil(Func<bool> condition, string otherwise) =>
        Assert.That(
            SpinWait.SpinUntil(() =>
            {
                bool now = condition();
                if (!now) { Task.Delay(50).Wait(); }
                return now;
            }, s_limit),
            otherwise);
}
