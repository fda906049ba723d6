using System.Diagnostics;
using HilRunner.Core.Runs;
using HilRunner.Scoring;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests.UserDevice;

/// <summary>
/// Two pseudo-terminals that socat joins, user_device.py on one and hil on the other; a rig file and a scenario in a folder. Disposing
/// ends both programs and fails the test when one of them had ended by itself.
/// </summary>
internal sealed class UserBench : IDisposable
{
    private static readonly TimeSpan s_limit = TimeSpan.FromSeconds(10);
    private readonly TemporaryFolder _folder = TestPaths.NewFolder("user-device");
    private readonly List<Process> _processes = [];

    /// <param name="format">What the device speaks: lines or own.</param>
    public UserBench(string format, string rig, string scenario)
    {
        File.WriteAllText(Rig, rig
            .Replace("port: host", $"port: {Port}", StringComparison.Ordinal)
            .Replace("../scenarios", Path.Combine(TestPaths.Root, "scenarios"), StringComparison.Ordinal));
        File.WriteAllText(_folder.File("scenario.yaml"), scenario);
        try
        {
            string device = _folder.File("device");
            Start("socat", $"pty,rawer,link={Port}", $"pty,rawer,link={device}");
            WaitUntil(() => File.Exists(Port) && File.Exists(device), "socat made no pair of pseudo-terminals");
            var program = Start("/usr/bin/python3", Script(), device, format);
            // It says so when it has the port. Nothing is in the way of what the host sends from then on.
            Assert.That(program.StandardOutput.ReadLineAsync().WaitAsync(s_limit).GetAwaiter().GetResult(), Is.EqualTo("listening"), "the device did not start");
        }
        catch
        {
            End();
            throw;
        }
    }

    public string Port => _folder.File("host");

    public string Rig => _folder.File("rig.yaml");

    /// <summary>A run that the machine held up is played again, and both are kept: the last one counts.</summary>
    private string LastRun =>
        Directory.GetDirectories(Directory.GetDirectories(_folder.File("runs")).Single()).Order(StringComparer.Ordinal).Last();

    public HilResult Hil(params string[] arguments) => Tests.Hil.Run(arguments);

    /// <summary>Plays the scenario once.</summary>
    public (HilResult Result, RunManifest Run, Score Score) Run(params string[] more)
    {
        var result = Hil(["run", _folder.File("scenario.yaml"), "--rig", Rig, "--out", _folder.File("runs"), .. more]);
        TestContext.Out.WriteLine(result.Output + result.Errors);
        using var score = File.OpenRead(Path.Combine(LastRun, RunFiles.Score));
        return (result, RunManifestFile.Read(Path.Combine(LastRun, RunFiles.Manifest)), ScoreJson.Read(score));
    }

    /// <summary>The column class of decisions.csv, row by row.</summary>
    public string[] ClassesDecided() => [.. File.ReadLines(Path.Combine(LastRun, RunFiles.Decisions)).Skip(1).Select(row => row.Split(',')[1])];

    public void Dispose()
    {
        string[] gone = [.. _processes.Where(p => p.HasExited).Select(p => p.StartInfo.FileName)];
        End();
        Assert.That(gone, Is.Empty, "ended by itself during the test");
    }

    private static string Script() => Path.Combine(TestPaths.Root, "tests", "HilRunner.Cli.Tests", "UserDevice", "user_device.py");

    private static void WaitUntil(Func<bool> condition, string otherwise) =>
        Assert.That(SpinWait.SpinUntil(condition, s_limit), $"{otherwise} within {s_limit}");

    private Process Start(string program, params string[] arguments)
    {
        var process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true })!;
        _processes.Add(process);
        return process;
    }

    /// <summary>The device first, then the line under it.</summary>
    private void End()
    {
        foreach (var process in Enumerable.Reverse(_processes))
        {
            process.Kill(entireProcessTree: true);
            process.WaitForExit(s_limit);
            process.Dispose();
        }
        _folder.Dispose();
    }
}
