using System.Diagnostics;
using System.Globalization;
using HilRunner.Core.Links;
using HilRunner.Emulated.Tests.Bench;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Protocol;

/// <summary>rigs/emulated/run and rigs/emulated/control: what can be done to the device from outside, and that it never stays behind.</summary>
[Timing("the device's time is held against the host's to two milliseconds")]
public sealed class ControlTests
{
    private static readonly string ControlScript = Path.Combine(TestPaths.Root, "rigs", "emulated", "control");

    [Test]
    public void The_control_script_resets_stops_continues_and_cuts()
    {
        using var device = new Emulator(new ImageSpec());
        var talk = new LineTalk(device.Link);
        talk.WaitForBanner();
        Assert.That(Control(device, "status"), Does.Contain("running"));
        talk.Say("begin 100000\ns 0 1");

        int lines = talk.Lines.Length;
        Control(device, "reset");
        talk.WaitFor("boot ", lines);

        long before = Time(talk, 1);
        Control(device, "stop");
        Assert.That(Control(device, "status"), Does.Contain("paused").Or.Contain("stopped"));
        lines = talk.Lines.Length;
        var asked = talk.Say("t 2\n");
        using (var never = new ManualResetEventSlim()) { never.Wait(500); }
        Assert.That(talk.Lines, Has.Length.EqualTo(lines), "a stopped device says nothing");
        Control(device, "continue");
        int place = talk.WaitFor("t 2 ", lines);
        long frozen = long.Parse(talk.Lines[place].Split(' ')[2], CultureInfo.InvariantCulture) - before;
        long passed = (talk.Stamped[place].At - asked) / 1000;
        Assert.That(passed, Is.GreaterThan(500_000));
        Assert.That(frozen, Is.LessThan(passed), "its time stood still while it was stopped");

        Control(device, "cut");
        Assert.That(talk.WaitForLoss().Fault, Is.EqualTo(LinkFault.Lost));
    }

    [Test]
    public void A_stalled_emulator_loses_no_time_and_a_frozen_one_does()
    {
        using var device = new Emulator(new ImageSpec());
        var talk = new LineTalk(device.Link);
        talk.WaitForBanner();
        long offset = Offset(talk, 1);
        device.Stall(TimeSpan.FromMilliseconds(500));
        long stalled = Offset(talk, 2);
        device.Control.Execute("stop");
        using (var never = new ManualResetEventSlim()) { never.Wait(500); }
        device.Control.Execute("cont");
        long frozen = Offset(talk, 3);
        TestContext.Out.WriteLine(FormattableString.Invariant($"offset moved by {stalled - offset} µs over a stall, by {frozen - stalled} µs over a stop"));
        Assert.Multiple(() =>
        {
            // The bound of two offsets that are each known to half a round trip.
            Assert.That(Math.Abs(stalled - offset), Is.LessThan(2_000));
            Assert.That(stalled - frozen, Is.GreaterThan(490_000));
        });
    }

    [Test]
    public void A_killed_parent_leaves_no_emulator()
    {
        string socket = Path.Combine(Images.Folder, "orphan");
        string image = Images.Get(new());
        using var parent = Process.Start(new ProcessStartInfo("/usr/bin/python3",
        [
            "-c", "import subprocess, sys, time\np = subprocess.Popen(sys.argv[1:], stdin=subprocess.PIPE, stdout=subprocess.PIPE)\nprint(p.stdout.readline().decode(), flush=True)\ntime.sleep(60)",
            Emulator.RunScript, image, "--control", socket,
        ])
        { RedirectStandardOutput = true })!;
        Assert.That(parent.StandardOutput.ReadLine(), Does.StartWith("boot "));
        Assert.That(Emulator.ProcessIds(socket), Has.Count.GreaterThanOrEqualTo(1));
        parent.Kill();
        parent.WaitForExit();
        using var pause = new ManualResetEventSlim();
        for (int i = 0; i < 100 && Emulator.ProcessIds(socket).Count > 0; i++) { pause.Wait(50); }
        Assert.That(Emulator.ProcessIds(socket), Is.Empty);
    }

    [Test]
    public void What_cannot_be_done_is_said()
    {
        var (code, output, errors) = Tool.Try(10, ControlScript, Path.Combine(Images.Folder, "nobody"), "reset");
        Assert.That(code, Is.Not.Zero);
        Assert.That(output + errors, Does.Contain("nobody").And.Not.Contain("Traceback"));
        (code, output, errors) = Tool.Try(10, Path.Combine(TestPaths.Root, "rigs", "emulated", "build"), "--defect", "none-such");
        Assert.That(code, Is.Not.Zero);
        Assert.That(output + errors, Does.Contain("none-such"));
        Assert.That(Defects.All, Has.All.Matches<string>(d => errors.Contains(d, StringComparison.Ordinal)), "the known ones are named");
    }

    private static string Control(Emulator device, string command) => Tool.Run(10, ControlScript, device.SocketPath, command);

    private static long Time(LineTalk talk, int token) => long.Parse(talk.Ask($"t {token}\n", $"t {token} ").Split(' ')[2], CultureInfo.InvariantCulture);

    /// <summary>Device minus host in µs, from the fastest of 50 questions.</summary>
    private static long Offset(LineTalk talk, int series)
    {
        (long Delay, long Offset) best = (long.MaxValue, 0);
        for (int i = 0; i < 50; i++)
        {
            int before = talk.Lines.Length;
            string token = $"t {series * 1000 + i}";
            long sent = talk.Say(token + "\n").Ns;
            int place = talk.WaitFor(token + " ", before);
            var (text, at) = talk.Stamped[place];
            long device = long.Parse(text.Split(' ')[2], CultureInfo.InvariantCulture);
            if (at.Ns - sent < best.Delay) { best = (at.Ns - sent, device - (sent + at.Ns) / 2000); }
        }
        return best.Offset;
    }
}
