using System.Diagnostics;
using HilRunner.Core.Time;
using HilRunner.Engine.Pacing;

namespace HilRunner.Engine.Tests.Pacing;

public class PacingClockTests
{
    private static readonly HostClock s_clock = new(TimeProvider.System);

    [Test]
    public void ReturnsAtOrAfterTheMoment()
    {
        var pacing = new PacingClock(s_clock, TimeSpan.FromMilliseconds(0.2));
        for (int wait = 1; wait <= 20; wait++)
        {
            HostTime due = s_clock.Now + TimeSpan.FromMilliseconds(2);
            pacing.WaitUntil(due, () => false);
            Assert.That(s_clock.Now, Is.GreaterThanOrEqualTo(due));
        }
    }

    [Test]
    public void AMomentThatHasPassedIsNotSleptFor()
    {
        var pacing = new PacingClock(s_clock, TimeSpan.Zero);
        int asked = 0;
        pacing.WaitUntil(s_clock.Now, () => ++asked < 0);
        Assert.That(asked, Is.Zero, "it looks for the stop before each sleep");
    }

    [Test]
    public void LongWaitsLookForTheStop()
    {
        var pacing = new PacingClock(s_clock, TimeSpan.Zero);
        HostTime due = s_clock.Now + TimeSpan.FromSeconds(60);
        int asked = 0;
        pacing.WaitUntil(due, () => ++asked > 3);
        Assert.That(asked, Is.EqualTo(4));
        Assert.That(s_clock.Now, Is.LessThan(due));
    }

    /// <summary>Asked of the kernel by another program: sched_getattr(2), whose numbers for two architectures stand in the test.</summary>
    [Test]
    [Platform("Linux")]
    public void TheThreadAsksForTheShortestSliceAndStaysInItsClass()
    {
        const string ask = """
            import ctypes, platform, struct, sys
            number = {"x86_64": 315, "aarch64": 275}[platform.machine()]
            read = ctypes.create_string_buffer(48)
            assert ctypes.CDLL(None).syscall(number, int(sys.argv[1]), read, 48, 0) == 0
            size, policy, flags, nice, priority, runtime, deadline, period = struct.unpack("IIQiIQQQ", read.raw)
            print(policy, nice, runtime)
            """;
        string before = "", after = "";
        var thread = new Thread(() =>
        {
            string id = Path.GetFileName(File.ResolveLinkTarget("/proc/thread-self", false)!.FullName);
            before = Said(ask, id);
            new PacingClock(s_clock, TimeSpan.Zero).EnterThread();
            after = Said(ask, id);
        });
        thread.Start();
        thread.Join();
        string[] was = before.Split(' ');
        Assert.That(was[0], Is.EqualTo("0"), "this test runs in the class of everybody");
        // Linux before 6.12 knows no such wish and says 0.
        string expected = Environment.OSVersion.Version >= new Version(6, 12) ? "100000" : "0";
        Assert.That(after, Is.EqualTo($"{was[0]} {was[1]} {expected}"));
    }

    private static string Said(string script, string argument)
    {
        using var process = Process.Start(new ProcessStartInfo("/usr/bin/python3", ["-c", script, argument]) { RedirectStandardOutput = true })!;
        string said = process.StandardOutput.ReadToEnd().Trim();
        process.WaitForExit();
        return said;
    }
}
