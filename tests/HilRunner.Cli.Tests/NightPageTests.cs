using System.Diagnostics;
using System.Text.RegularExpressions;
using HilRunner.Cli.Tests.Faults;
using HilRunner.Core.Rigs;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>scenarios/NIGHT.md: its job is run, its timer is verified, its table is the one that the matrix of faults is tried against.</summary>
[Platform("Linux")]
public partial class NightPageTests
{
    private static readonly string s_page = File.ReadAllText(Path.Combine(TestPaths.Root, "scenarios", "NIGHT.md"));

    [Test]
    public void TheJobFlashesPlaysComparesAndSums()
    {
        using var folder = TestPaths.NewFolder();
        Bench(folder);
        var first = Night(folder, "1.5.0");
        Assert.That(first.Code, Is.Zero, first.Said);
        Assert.That(File.ReadAllText(folder.File("flashed")), Is.EqualTo("--write firmware.bin\n"));
        Assert.That(first.Said, Does.Contain("pass: night, build 1.5.0: 2 of 2 runs passed"));
        Assert.That(File.ReadAllText(folder.File("night.xml")), Does.Contain("<testsuite "));

        SetVersion(folder, "1.6.0");
        var second = Night(folder, "1.6.0");
        Assert.That(
            second.Said,
            Does.Contain(
                "pass: night, build 1.6.0: 2 of 2 runs passed; delivery not shown in 2 of 2 runs; too few trials since 1.5.0"));

        var wrong = Night(folder, "1.7.0");
        Assert.That(wrong.Code, Is.EqualTo(3), "the device still says 1.6.0");
        Assert.That(wrong.Said, Does.Contain("error: night, build 1.7.0: 0 of 2 runs passed").And.Contain("the device says version 1.6.0, expected 1.7.0"));
    }

    [Test]
    public void TheTimerIsOne()
    {
        using var folder = TestPaths.NewFolder();
        string[] units = Blocks("ini");
        Assert.That(units, Has.Length.EqualTo(2));
        File.WriteAllText(folder.File("hil-night.service"), units[0]);
        File.WriteAllText(folder.File("hil-night.timer"), units[1]);
        var (code, said) = Shell(folder, "systemd-analyze", "verify", folder.File("hil-night.service"), folder.File("hil-night.timer"));
        Assert.That(code, Is.Zero, said);
        Assert.That(said, Is.Empty, "no complaint");
    }

    [Test]
    public void ItsTableOfFaultsIsTheOneThatIsTried()
    {
        string[] rows = [.. s_page[s_page.IndexOf("| fault |", StringComparison.Ordinal)..].Split("\n\n")[0].Split('\n').Skip(2)];
        Fault[][] faults = [[Fault.Unplug], [Fault.TakenWhenReplugged], [Fault.Reset], [Fault.Hang], [Fault.Garbage], [Fault.NoCredit], [Fault.NoAnswer], [Fault.PortTaken], [Fault.DiskFull], [Fault.ClockForward, Fault.ClockBack], [Fault.Terminate, Fault.Interrupt, Fault.Kill]];
        Assert.That(rows, Has.Length.EqualTo(faults.Length));
        Assert.That(faults.SelectMany(f => f), Is.EquivalentTo(Enum.GetValues<Fault>()));
        foreach (var (row, which) in rows.Zip(faults))
        {
            string[] cells = [.. row.Trim('|').Split('|').Select(c => c.Trim())];
            foreach (var (phase, cell) in Enum.GetValues<Phase>().Zip(cells.Skip(1)))
            {
                Outcomes said = cell.Split(" or ").Select(Outcome).Aggregate((a, b) => a | b);
                foreach (Fault fault in which) { Assert.That(said, Is.EqualTo(FaultMatrix.Expected(fault, phase)), $"{cells[0]} in {phase}"); }
            }
        }
    }

    private static Outcomes Outcome(string word) => word switch
    {
        "nothing" => Outcomes.Undisturbed,
        "again" => Outcomes.PlayedAgain,
        "device" => Outcomes.DevicesFault,
        "130" => Outcomes.Interrupted,
        "3" => Outcomes.NoRoom,
        _ => throw new FormatException(word),
    };

    /// <summary>As the page says it, but for the board: a virtual one stands in for it, and the flashing tool notes what it was told.</summary>
    private static void Bench(TemporaryFolder folder)
    {
        string[] yaml = Blocks("yaml");
        _ = RigFile.Parse(yaml[0], "bench.yaml");
        File.WriteAllText(folder.File("bench.yaml"), yaml[0]);
        SetVersion(folder, "1.5.0");
        File.WriteAllText(folder.File("night.yaml"), yaml[1]);
        MadeBelts.Write(folder, 1);
        File.Move(folder.File("part-1.yaml"), folder.File("belt.yaml"));
        File.Delete(folder.File("suite.yaml"));
        File.WriteAllText(folder.File("night.sh"), Blocks("sh")[0]);
        File.WriteAllText(folder.File("flash-tag"), $"#!/bin/sh\necho \"$@\" > {folder.File("flashed")}\n");
        _ = Shell(folder, "chmod", "+x", "flash-tag");
    }

    private static void SetVersion(TemporaryFolder folder, string version)
    {
        File.WriteAllText(folder.File("firmware.bin"), "firmware " + version);
        File.WriteAllText(folder.File("bench.yaml"), Link().Replace(File.ReadAllText(folder.File("bench.yaml")), $"  link: {{builtin: {{model: {Path.Combine(TestPaths.Root, "scenarios", "parcel", "model.yaml")}, protocol: lines, version: {version}}}}}"));
    }

    private static (int Code, string Said) Night(TemporaryFolder folder, string version)
    {
        File.WriteAllText(folder.File("version.txt"), version);
        return Shell(folder, "/bin/sh", "night.sh");
    }

    private static (int Code, string Said) Shell(TemporaryFolder folder, string program, params string[] arguments)
    {
        var start = new ProcessStartInfo(program, arguments) { WorkingDirectory = folder.Path, RedirectStandardOutput = true, RedirectStandardError = true };
        start.Environment["PATH"] = $"{Path.GetDirectoryName(Hil.Executable)}:{folder.Path}:{Environment.GetEnvironmentVariable("PATH")}";
        start.Environment["NO_COLOR"] = "1";
        using var process = Process.Start(start)!;
        var errors = process.StandardError.ReadToEndAsync();
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return (process.ExitCode, output + errors.Result);
    }

    private static string[] Blocks(string language) => [.. s_page.Split($"```{language}\n").Skip(1).Select(b => b.Split("```")[0])];

    [GeneratedRegex(@"(?m)^  link: .*$")]
    private static partial Regex Link();
}
