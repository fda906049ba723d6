using System.Diagnostics;
using System.Text.Json;
using HilRunner.Core.Runs;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>kill -9 of either process in mid-run: what was played can be scored, and nothing is left running.</summary>
[Platform("Linux")]
public class KilledRunTests
{
    private static readonly TimeSpan s_limit = TimeSpan.FromSeconds(30);

    [Test]
    public void TheParentKilled()
    {
        using var folder = TestPaths.NewFolder();
        using var parent = StartSlowRun(folder);
        string run = WaitForPlayout(folder, parent);
        int player = ChildOf(parent.Id);
        parent.Kill();
        parent.WaitForExit();
        Assert.That(Ends(player), "the player outlived its parent");
        AssertScoredAsFarAsItWent(run);
        Assert.That(File.ReadAllText(Path.Combine(run, RunFiles.Score)), Does.Contain("stopped before its end"));
    }

    [Test]
    public void ThePlayerKilled()
    {
        using var folder = TestPaths.NewFolder();
        using var parent = StartSlowRun(folder);
        string run = WaitForPlayout(folder, parent);
        int player = ChildOf(parent.Id);
        using (var process = Process.GetProcessById(player)) { process.Kill(); }
        // The parent plays the run again, as for a lost link; it is interrupted there.
        Assert.That(WaitUntil(() => Directory.GetDirectories(Path.GetDirectoryName(run)!).Length > 1), "the run was not played again");
        int second = WaitFor(() => ChildOf(parent.Id), id => id != 0 && id != player);
        Interrupt(parent);
        Assert.That(parent.WaitForExit(s_limit), "the parent did not end");
        Assert.That(parent.ExitCode, Is.EqualTo(130));
        Assert.That(Ends(second), "a player was left behind");
        AssertScoredAsFarAsItWent(run);
    }

    [Test]
    public void TheRunInterrupted()
    {
        using var folder = TestPaths.NewFolder();
        using var parent = StartSlowRun(folder);
        string run = WaitForPlayout(folder, parent);
        int player = ChildOf(parent.Id);
        Interrupt(parent);
        Assert.That(parent.WaitForExit(s_limit), "the parent did not end");
        Assert.That(parent.ExitCode, Is.EqualTo(130));
        Assert.That(Ends(player), "the player was left behind");
        AssertScoredAsFarAsItWent(run);
        Assert.That(File.Exists(Path.Combine(Path.GetDirectoryName(run)!, RunFiles.Report)), "an interrupted batch has a report too");
    }

    /// <summary>A minute of real time.</summary>
    private static Process StartSlowRun(TemporaryFolder folder)
    {
        File.WriteAllText(folder.File("slow.yaml"), """
            scenario: slow
            stimulus:
              - synth: {rest: 30 s, class: resting}
              - synth: {tone: 16 Hz, peak: 0.3 g, axis: z, for: 30 s, class: conveyed}
            limits:
              - {measure: accuracy, at_least: 0.5}
            """);
        var process = Hil.Start("run", folder.File("slow.yaml"), "--rig", "rigs/virtual.yaml", "--speed", "real", "--out", folder.File("runs"));
        _ = process.StandardOutput.ReadToEndAsync();
        _ = process.StandardError.ReadToEndAsync();
        return process;
    }

    /// <summary>Waits until some seconds have been played and are on disk.</summary>
    private static string WaitForPlayout(TemporaryFolder folder, Process parent)
    {
        string found = "";
        Assert.That(WaitUntil(() =>
        {
            Assert.That(parent.HasExited, Is.False, "the run ended by itself");
            if (!Directory.Exists(folder.File("runs"))) { return false; }
            string? playout = Directory.GetFiles(folder.File("runs"), RunFiles.Playout, SearchOption.AllDirectories).FirstOrDefault();
            if (playout is null || new FileInfo(playout).Length < 8_000) { return false; }
            found = Path.GetDirectoryName(playout)!;
            return true;
        }), "nothing was played");
        return found;
    }

    private static void AssertScoredAsFarAsItWent(string run)
    {
        var result = Hil.Run("score", run);
        Assert.That(result.Code, Is.EqualTo(2), result.Output + result.Errors);
        using var score = JsonDocument.Parse(File.ReadAllBytes(Path.Combine(run, RunFiles.Score)));
        Assert.That(score.RootElement.GetProperty("verdict").GetString(), Is.EqualTo("inconc"));
        Assert.That(score.RootElement.GetProperty("strict").GetProperty("scored_s").GetDouble(), Is.InRange(0.5, 30.0));
        Assert.That(score.RootElement.GetProperty("health").GetProperty("sent").GetInt64(), Is.GreaterThan(100));
        Assert.That(RunManifestFile.Read(Path.Combine(run, RunFiles.Manifest)).Complete, Is.False);
    }

    private static void Interrupt(Process process) => Process.Start("kill", ["-INT", process.Id.ToString()]).WaitForExit();

    private static int ChildOf(int parent)
    {
        string text = File.ReadAllText($"/proc/{parent}/task/{parent}/children").Trim();
        foreach (string task in Directory.GetDirectories($"/proc/{parent}/task"))
        {
            string children = File.ReadAllText(Path.Combine(task, "children")).Trim();
            if (children.Length > 0) { text = children; }
        }
        return text.Length == 0 ? 0 : int.Parse(text.Split(' ')[^1]);
    }

    /// <summary>Gone, or dead and only waiting for somebody to read its exit code.</summary>
    private static bool Ends(int process) => WaitUntil(() =>
    {
        try { return File.ReadAllText($"/proc/{process}/stat").Split(") ")[^1].StartsWith('Z'); }
        catch (IOException) { return true; }
    });

    private static int WaitFor(Func<int> read, Func<int, bool> wanted)
    {
        int value = 0;
        Assert.That(WaitUntil(() => wanted(value = read())), "it did not come");
        return value;
    }

    private static bool WaitUntil(Func<bool> condition) => SpinWait.SpinUntil(() =>
    {
        bool now = condition();
        if (!now) { Task.Delay(20).Wait(); }
        return now;
    }, s_limit);
}
