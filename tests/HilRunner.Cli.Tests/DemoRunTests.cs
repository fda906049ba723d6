using System.Diagnostics;
using HilRunner.Core.Capture;
using HilRunner.Core.Runs;
using HilRunner.Testing;
using HilRunner.Transport.Capture;

namespace HilRunner.Cli.Tests;

/// <summary>The main job on the built-in device: the command that the README gives first.</summary>
[Parallelizable(ParallelScope.All)]
public class DemoRunTests
{
    [Test]
    public void TheDemoPassesAndLeavesEverythingThatARunConsistsOf()
    {
        using var folder = TestPaths.NewFolder();
        var result = Hil.Run("run", "scenarios/parcel", "--rig", "rigs/virtual.yaml", "--out", folder.Path);
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        string report = result.Output.TrimEnd().Split('\n')[^1];
        Assert.That(report, Does.EndWith("report.html"));
        Assert.That(File.Exists(report));
        string batch = Path.GetDirectoryName(report)!;
        string[] runs = [.. Directory.EnumerateDirectories(batch)];
        Assert.That(runs, Has.Length.GreaterThanOrEqualTo(4));
        string[] names =
        [
            RunFiles.Manifest, RunFiles.Capture, RunFiles.Playout, RunFiles.Expected, RunFiles.Decisions, RunFiles.Stimulus,
            RunFiles.Score, RunFiles.Report, RunFiles.Log,
        ];
        foreach (string run in runs)
        {
            foreach (string name in names) { Assert.That(new FileInfo(Path.Combine(run, name)), Has.Length.GreaterThan(0), name); }
            var manifest = RunManifestFile.Read(Path.Combine(run, RunFiles.Manifest));
            Assert.That(manifest.Complete);
            Assert.That(manifest.Identity["version"], Is.Not.Empty);
        }
        Assert.That(Directory.EnumerateFiles(batch).Select(Path.GetFileName), Does.Contain("junit.xml"));
    }

    [Test]
    public void ScoringAgainGivesTheSameBytes()
    {
        using var folder = TestPaths.NewFolder();
        Assert.That(Hil.Run("run", "scenarios/parcel", "--rig", "rigs/virtual.yaml", "--out", folder.Path).Code, Is.Zero);
        string[] scores = Directory.GetFiles(folder.Path, RunFiles.Score, SearchOption.AllDirectories);
        Assert.That(scores, Is.Not.Empty);
        var live = scores.ToDictionary(s => s, File.ReadAllBytes);
        var decisions = scores.ToDictionary(s => s, s => File.ReadAllBytes(Sibling(s, RunFiles.Decisions)));
        foreach (string score in scores)
        {
            File.Delete(score);
            File.Delete(Sibling(score, RunFiles.Decisions));
        }
        var again = Hil.Run(["score", .. scores.Select(s => Path.GetDirectoryName(s)!)]);
        Assert.That(again.Code, Is.Zero, again.Errors);
        foreach (string score in scores)
        {
            Assert.That(File.ReadAllBytes(score), Is.EqualTo(live[score]), score);
            Assert.That(File.ReadAllBytes(Sibling(score, RunFiles.Decisions)), Is.EqualTo(decisions[score]), score);
        }
    }

    [Test]
    public void TheBinaryProtocolSaysTheSameAsTheTextOne()
    {
        using var folder = TestPaths.NewFolder();
        Assert.That(Hil.Run("run", "scenarios/parcel", "--rig", "rigs/virtual.yaml", "--out", folder.File("text")).Code, Is.Zero);
        Assert.That(Hil.Run("run", "scenarios/parcel", "--rig", "rigs/virtual-cobs.yaml", "--out", folder.File("cobs")).Code, Is.Zero);
        Assert.That(Decided(folder.File("cobs")), Is.EqualTo(Decided(folder.File("text"))));
    }

    /// <summary>tshark (Debian) reads a real run's capture as our own reader does: records, directions, nanosecond times.</summary>
    [Test]
    public void AGeneralPacketToolReadsTheCapture()
    {
        using var folder = TestPaths.NewFolder();
        Assert.That(Hil.Run("run", "scenarios/parcel/belt.yaml", "--rig", "rigs/virtual.yaml", "--out", folder.Path, "--quiet").Code, Is.Zero);
        string path = Directory.GetFiles(folder.Path, RunFiles.Capture, SearchOption.AllDirectories).Single();
        using var tool = Process.Start(new ProcessStartInfo(
            "tshark", ["-r", path, "-T", "fields", "-e", "frame.packet_flags_direction", "-e", "frame.time_epoch", "-e", "frame.len"])
        { RedirectStandardOutput = true, RedirectStandardError = true })!;
        var errors = tool.StandardError.ReadToEndAsync();
        string[] seen = tool.StandardOutput.ReadToEnd().Split('\n', StringSplitOptions.RemoveEmptyEntries);
        tool.WaitForExit();
        Assert.That(tool.ExitCode, Is.Zero, errors.Result);
        var ours = new List<string>();
        using var reader = new CaptureStore().Open(path);
        while (reader.TryRead(out var record))
        {
            int direction = record.Kind switch { CaptureKind.FromDevice => 1, CaptureKind.ToDevice => 2, _ => 0 };
            string time = $"{record.At.Ns / 1_000_000_000}.{record.At.Ns % 1_000_000_000:000000000}";
            ours.Add(direction == 0 ? $"{time}" : $"0x{direction:x8}\t{time}\t{record.Bytes.Length}");
        }
        Assert.That(ours, Has.Count.GreaterThan(100));
        Assert.That(seen.Select(line => line.StartsWith("0x00000000", StringComparison.Ordinal) ? line.Split('\t')[1] : line), Is.EqualTo(ours));
    }

    [Test]
    public void ADeviceThatOnlyAnswersIsPolled()
    {
        using var folder = TestPaths.NewFolder();
        string rig = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml"))
            .Replace("../scenarios", Path.Combine(TestPaths.Root, "scenarios"), StringComparison.Ordinal)
            .Replace("  identity:", "  poll: {send: st, every: 100 ms}\n  identity:", StringComparison.Ordinal)
            // What is tried is that it is asked; how late a busy machine does so is not.
            .Replace("late: 50 ms, lost: 0, lines_unknown: 0, ", "late: 10 s, lost: 0, ", StringComparison.Ordinal);
        File.WriteAllText(folder.File("rig.yaml"), rig);
        File.WriteAllText(folder.File("rest.yaml"), "scenario: rest\nstimulus:\n  - synth: {rest: 20 s, class: resting}\nlimits:\n  - {measure: missed, at_most: 0}\n");
        var result = Hil.Run("run", folder.File("rest.yaml"), "--rig", folder.File("rig.yaml"), "--speed", "8x", "--out", folder.File("runs"));
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        string file = Directory.GetFiles(folder.File("runs"), RunFiles.Decisions, SearchOption.AllDirectories).Single();
        // 2.5 s at ten questions a second; the first few come before there is anything to say.
        Assert.That(DecisionsFile.Read(file), Has.Count.InRange(15, 30));
    }

    /// <summary>Decisions that come when everything was long sent are waited for, also at speed max.</summary>
    [TestCase("500ms")]
    [TestCase("3s")]
    public void ASlowReporterIsWaitedFor(string delay)
    {
        using var folder = TestPaths.NewFolder();
        // The rig says how long such a device may be quiet between two decisions; on a busy machine 100 ms are no silence.
        string rig = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml"))
            .Replace("../scenarios", Path.Combine(TestPaths.Root, "scenarios"), StringComparison.Ordinal)
            .Replace("quiet: 100 ms", "quiet: 2 s", StringComparison.Ordinal);
        File.WriteAllText(folder.File("rig.yaml"), rig);
        var result = Hil.Run(
            "run", "scenarios/parcel/belt.yaml", "--rig", folder.File("rig.yaml"), "--out", folder.File("runs"), "--quiet",
            "--link", $"builtin:lines?model=scenarios/parcel/model.yaml&delay={delay}");
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
    }

    [TestCase(RunFiles.Playout, 2, "lacks")]
    [TestCase(RunFiles.Expected, 65, "expected.csv")]
    [TestCase(RunFiles.Capture, 2, "no end")]
    public void ADamagedRecordNeverPasses(string file, int code, string said)
    {
        using var folder = TestPaths.NewFolder();
        Assert.That(Hil.Run("run", "scenarios/parcel/belt.yaml", "--rig", "rigs/virtual.yaml", "--out", folder.Path, "--quiet").Code, Is.Zero);
        string path = Directory.GetFiles(folder.Path, file, SearchOption.AllDirectories).Single();
        byte[] bytes = File.ReadAllBytes(path);
        int half = Array.LastIndexOf(bytes, (byte)'\n', bytes.Length / 2) + 1;
        File.WriteAllBytes(path, bytes[..half]);
        var result = Hil.Run("score", Path.GetDirectoryName(path)!);
        Assert.That(result.Code, Is.EqualTo(code), result.Output + result.Errors);
        Assert.That(result.Output + result.Errors, Does.Contain(said));
    }

    [Test]
    public void ABrokenDeviceFails()
    {
        using var folder = TestPaths.NewFolder();
        var result = Hil.Run(
            "run", "scenarios/parcel/belt.yaml", "--rig", "rigs/virtual.yaml", "--out", folder.Path, "--quiet",
            "--link", "builtin:lines?model=scenarios/parcel/model.yaml&reset_at=500");
        Assert.That(result.Code, Is.EqualTo(1), result.Output + result.Errors);
        Assert.That(File.ReadAllText(Directory.GetFiles(folder.Path, RunFiles.Score, SearchOption.AllDirectories).Order().First()), Does.Contain("device_resets"));
    }

    [Test]
    public void AnUnpluggedDeviceIsNotCalledFailing()
    {
        using var folder = TestPaths.NewFolder();
        var result = Hil.Run(
            "run", "scenarios/parcel/belt.yaml", "--rig", "rigs/virtual.yaml", "--out", folder.Path,
            "--link", "builtin:lines?model=scenarios/parcel/model.yaml&unplug_at=500");
        Assert.That(result.Code, Is.EqualTo(2), result.Output + result.Errors);
        Assert.That(result.Output, Does.Contain("played again"));
        Assert.That(result.Output, Does.Contain("link was lost"));
    }

    [Test]
    public void AHungDeviceEndsTheRunInTimeAndIsNotBlamedWithoutProof()
    {
        using var folder = TestPaths.NewFolder();
        var result = Hil.Run(
            "run", "scenarios/parcel/belt.yaml", "--rig", "rigs/virtual.yaml", "--out", folder.Path,
            "--link", "builtin:lines?model=scenarios/parcel/model.yaml&hang_at=500");
        Assert.That(result.Code, Is.EqualTo(3), result.Output + result.Errors);
        Assert.That(result.Errors, Does.Contain("fell silent").And.Contain("whether device or link is at fault is not known"));
    }

    private static string Sibling(string file, string name) => Path.Combine(Path.GetDirectoryName(file)!, name);

    private static List<string> Decided(string folder) =>
    [
        .. Directory.GetFiles(folder, RunFiles.Decisions, SearchOption.AllDirectories).Order(StringComparer.Ordinal)
            .SelectMany(file => DecisionsFile.Read(file).Select(d => $"{Path.GetFileName(Path.GetDirectoryName(file))} {d.Sample} {d.Class}")),
    ];
}
