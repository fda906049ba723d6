using System.Diagnostics;
using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;
using HilRunner.Core.Recordings;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>hil record by what a person at a bench sees: files, labels, exit codes.</summary>
[Platform("Linux")]
[Timing("the times of keys and the rate of samples are measured")]
public class RecordTests
{
    private const string Model = "builtin:lines?model=scenarios/parcel/model.yaml";

    [Test]
    public void TheVirtualDevicesOwnMotion_LabelledByKeys()
    {
        using var folder = TestPaths.NewFolder();
        double[][] motion = WriteMotion(folder.File("motion.csv"), 300);
        using var hil = new HilOnTerminal("record", "--rig", "rigs/virtual.yaml", "--link", $"{Model}&motion={folder.File("motion.csv")}", "--out", folder.File("bench"));
        hil.WaitFor("Who or what");
        hil.Press("courier 3\n");
        hil.WaitFor("How is the device");
        hil.Press("\n");
        hil.WaitFor("Where is");
        hil.Press("hall 2\n");
        hil.WaitUntil(() => Regex.IsMatch(hil.Shown, @"\d samples"), "the first sample");
        foreach (var (key, shown) in new[] { ("1", "label: resting"), ("2", "label: carried"), ("3", "label: conveyed"), ("u", "undone: conveyed"), ("0", "label: none") })
        {
            hil.Press(key);
            hil.WaitFor(shown);
            Task.Delay(400).Wait();
        }
        hil.Press("q");
        Assert.That(hil.End(), Is.Zero);
        var recording = RecordingFile.Read(folder.File("bench.csv"));
        Assert.Multiple(() =>
        {
            Assert.That(recording.SampleCount, Is.GreaterThan(150));
            for (int channel = 0; channel < 3; channel++)
            {
                Assert.That(recording.Channels[channel], Is.EqualTo(Enumerable.Range(0, recording.SampleCount).Select(n => motion[channel][n % 300])), "what the sensor felt, over and over, bit for bit");
            }
            Assert.That(recording.Labels.Select(l => l.Class), Is.EqualTo(new[] { "resting", "carried" }), "the undone one is gone");
            Assert.That(recording.Labels[0].End, Is.EqualTo(recording.Labels[1].Start));
            Assert.That((recording.Labels[1].End - recording.Labels[1].Start) / 1e9, Is.GreaterThan(1.1), "it holds through what was undone");
            Assert.That(recording.Labels[1].End, Is.LessThan(recording.Duration), "the label was ended before the recording");
            Assert.That(recording.Info.Source, Is.EqualTo("courier 3"));
            Assert.That(recording.Info.Mounting, Is.Null);
            Assert.That(recording.Info.Provenance, Does.Contain("at hall 2").And.Contain("ended by key"));
            Assert.That(recording.Info.RangeG, Is.EqualTo(8));
            Assert.That(File.Exists(folder.File("bench.pcapng")));
        });
    }

    [Test]
    public void AScript_SaysWhatToDo_AndSetsTheLabels()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("script.yaml"), """
            scenario: two things
            stimulus:
              - prompt: {say: leave it, for: 3 s, class: resting}
              - prompt: {say: carry it, for: 3 s, class: carried}
            """);
        using var hil = new HilOnTerminal("record", "--rig", "rigs/virtual-cobs.yaml", "--script", folder.File("script.yaml"), "--yes", "--out", folder.File("s"));
        hil.WaitFor("GET READY");
        hil.WaitFor("NOW   CARRY IT");
        Task.Delay(1500).Wait();
        hil.Press(" ");
        hil.WaitFor("onset marked");
        Assert.That(hil.End(), Is.Zero);
        var recording = RecordingFile.Read(folder.File("s.csv"));
        Assert.Multiple(() =>
        {
            Assert.That(recording.Labels.Select(l => l.Class), Is.EqualTo(new[] { "resting", "carried" }));
            // Three seconds to get ready; resting is not marked and taken from a second after it was told, until the next thing is.
            Assert.That((double)recording.Labels[0].Start.Seconds, Is.EqualTo(4).Within(0.1));
            Assert.That((double)recording.Labels[0].End.Seconds, Is.EqualTo(6).Within(0.1));
            Assert.That((double)recording.Labels[1].Start.Seconds, Is.GreaterThan(7.4), "moved to the mark");
        });
    }

    [Test]
    public void WithoutATerminal_ItRecordsAndAsksNothing()
    {
        using var folder = TestPaths.NewFolder();
        var result = Hil.Run("record", "--rig", "rigs/virtual.yaml", "--for", "2s", "--out", folder.File("a"), "--json");
        Assert.That(result.Code, Is.Zero, result.Errors);
        using var json = JsonDocument.Parse(result.Output);
        var part = json.RootElement.GetProperty("parts")[0];
        Assert.That(part.GetProperty("samples").GetInt32(), Is.EqualTo(200).Within(3));
        Assert.That(Hil.Run("record", "--rig", "rigs/virtual.yaml", "--for", "2s", "--out", folder.File("a")).Code, Is.EqualTo(64), "nothing is overwritten");
    }

    [Test]
    public void AResetInMidRecording_BeginsANewPart()
    {
        using var folder = TestPaths.NewFolder();
        var result = Hil.Run("record", "--rig", "rigs/virtual.yaml", "--link", $"{Model}&reset_at=149", "--for", "2500ms", "--out", folder.File("r"));
        Assert.That(result.Code, Is.EqualTo(2), result.Output + result.Errors);
        var first = RecordingFile.Read(folder.File("r.csv"));
        var second = RecordingFile.Read(folder.File("r-2.csv"));
        Assert.That(first.SampleCount, Is.EqualTo(150));
        Assert.That(second.SampleCount, Is.InRange(50, 101), "the device was told to stream again");
        Assert.That(second.Info.Provenance, Does.Contain("begins after a gap: the device was reset"));
    }

    [Test]
    public void ARateThatIsOff_IsMeasuredAndSaid()
    {
        using var folder = TestPaths.NewFolder();
        var result = Hil.Run("record", "--rig", "rigs/virtual.yaml", "--link", $"{Model}&clock_skew=20000ppm", "--for", "8s", "--out", folder.File("f"));
        Assert.That(result.Code, Is.EqualTo(2), result.Output + result.Errors);
        string line = result.Output.Split('\n').Single(l => l.StartsWith("true rate", StringComparison.Ordinal));
        double[] figures = [.. line.Split(' ').Where(w => double.TryParse(w, CultureInfo.InvariantCulture, out _)).Select(w => double.Parse(w, CultureInfo.InvariantCulture))];
        Assert.That(figures[0], Is.EqualTo(102).Within(Math.Max(figures[1], 0.01)), "2 % fast");
        Assert.That(line, Does.Contain("this is off"));
    }

    [Test]
    public void Unplugged_WhatThereIsIsKept()
    {
        using var folder = TestPaths.NewFolder();
        var result = Hil.Run("record", "--rig", "rigs/virtual.yaml", "--link", $"{Model}&unplug_at=150", "--for", "10s", "--out", folder.File("u"));
        Assert.That(result.Code, Is.EqualTo(3), result.Output + result.Errors);
        var recording = RecordingFile.Read(folder.File("u.csv"));
        Assert.That(recording.SampleCount, Is.InRange(140, 151));
        Assert.That(recording.Info.Provenance, Does.Contain("ended early"));
    }

    [Test]
    public void Killed_APrefixCanBeReadAndTheCaptureIsWhole()
    {
        using var folder = TestPaths.NewFolder();
        using var process = Hil.Start("record", "--rig", "rigs/virtual.yaml", "--out", folder.File("k"));
        _ = process.StandardOutput.ReadToEndAsync();
        _ = process.StandardError.ReadToEndAsync();
        Assert.That(SpinWait.SpinUntil(() => File.Exists(folder.File("k.csv")) && new FileInfo(folder.File("k.csv")).Length > 5_000, 30_000), "nothing was recorded");
        process.Kill();
        process.WaitForExit();
        var recording = RecordingFile.Read(folder.File("k.csv"));
        Assert.That(recording.SampleCount, Is.GreaterThan(150));
        Assert.That(SpinWait.SpinUntil(() => Ended(folder.File("k.pcapng")), 10_000), "the player kept the capture whole and left");
    }

    [Test]
    public void Interrupted_WithoutAnEndOfItsOwn_IsItsEnd()
    {
        using var folder = TestPaths.NewFolder();
        using var process = Hil.Start("record", "--rig", "rigs/virtual.yaml", "--out", folder.File("i"));
        _ = process.StandardOutput.ReadToEndAsync();
        _ = process.StandardError.ReadToEndAsync();
        Assert.That(SpinWait.SpinUntil(() => File.Exists(folder.File("i.csv")), 30_000), "nothing was recorded");
        Process.Start("kill", ["-INT", process.Id.ToString(CultureInfo.InvariantCulture)]).WaitForExit();
        Assert.That(process.WaitForExit(30_000));
        Assert.That(process.ExitCode, Is.Zero);
        Assert.That(RecordingFile.Read(folder.File("i.csv")).Info.Provenance, Does.Contain("interrupted"));
    }

    [TestCase("--script", "x.yaml", "--for", "3s", 64)]
    [TestCase("--for", "0s", 64)]
    [TestCase("--for", "30h", 64)]
    public void WhatDoesNotFitTogether_IsRefused(params object[] words)
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("x.yaml"), "scenario: x\nstimulus:\n  - prompt: {say: go, for: 3 s, class: carried}\n");
        string[] arguments = [.. words[..^1].Select(w => (string)w == "x.yaml" ? folder.File("x.yaml") : (string)w)];
        var result = Hil.Run(["record", "--rig", "rigs/virtual.yaml", "--out", folder.File("x"), .. arguments]);
        Assert.That(result.Code, Is.EqualTo((int)words[^1]), result.Errors);
        Assert.That(Directory.GetFiles(folder.Path), Has.Length.EqualTo(1), "nothing was begun");
    }

    [Test]
    public void ARigThatDoesNotSayHowItsSamplesLook_IsRefused()
    {
        using var folder = TestPaths.NewFolder();
        string rig = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs/serial-text.yaml"));
        File.WriteAllLines(folder.File("rig.yaml"), rig.Split('\n').Where(l => !l.StartsWith("    sample: '^d", StringComparison.Ordinal)));
        var result = Hil.Run("record", "--rig", folder.File("rig.yaml"));
        Assert.That(result.Code, Is.EqualTo(64));
        Assert.That(result.Errors, Does.Contain("says.sample"));
    }

    [Test]
    public void TheEmulatedDevicesOwnSensor()
    {
        if (!File.Exists("/usr/bin/qemu-system-arm") || !File.Exists("/usr/bin/arm-none-eabi-gcc")) { TestPaths.Lacks("needs the emulator and the compiler of rigs/emulated/README.md"); }
        using var folder = TestPaths.NewFolder();
        string image = folder.File("tag.elf");
        using (var build = Process.Start(Path.Combine(TestPaths.Root, "rigs/emulated/build"), ["--out", image])) { build.WaitForExit(); }
        var result = Hil.Run("record", "--rig", "rigs/emulated.yaml", "--link", $"process:rigs/emulated/run {image}", "--for", "8s", "--out", folder.File("e"), "--json");
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        var recording = RecordingFile.Read(folder.File("e.csv"));
        double[] z = recording.Channels[2];
        double mean = z.Average(), deviation = Math.Sqrt(z.Average(v => (v - mean) * (v - mean)));
        Assert.Multiple(() =>
        {
            Assert.That(z, Has.Length.EqualTo(800).Within(5));
            // Binomial noise: 1000 mg, and a deviation of √8 mg; four standard errors of each.
            Assert.That(mean, Is.EqualTo(1).Within(0.0004));
            Assert.That(deviation, Is.EqualTo(Math.Sqrt(8) / 1000).Within(0.0003));
            using var json = JsonDocument.Parse(result.Output);
            Assert.That(json.RootElement.GetProperty("parts")[0].GetProperty("rate_hz").GetDouble(), Is.EqualTo(100).Within(0.02), "the emulated timer runs true");
        });
    }

    private static bool Ended(string capture)
    {
        using var reader = new HilRunner.Transport.Capture.CaptureStore().Open(capture);
        bool ended = false;
        while (reader.TryRead(out var record)) { ended |= record.Event?.Name == "ended"; }
        return ended;
    }

    /// <summary>Values with three decimals: whole counts of the virtual device.</summary>
    private static double[][] WriteMotion(string path, int samples)
    {
        double[][] values = [.. Enumerable.Range(0, 3).Select(axis => Enumerable.Range(0, samples).Select(n => Math.Round(Math.Sin((axis + 1) * n / 20.0), 3)).ToArray())];
        File.WriteAllLines(path, [
            "t_s,ax_g,ay_g,az_g",
            .. Enumerable.Range(0, samples).Select(n => FormattableString.Invariant($"{n / 100m:0.00},{values[0][n]},{values[1][n]},{values[2][n]}")),
        ]);
        return values;
    }
}
