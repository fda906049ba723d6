using System.Diagnostics;
using HilRunner.Core.Capture;
using HilRunner.Core.Time;
using HilRunner.Testing;
using HilRunner.Transport.Capture;

namespace HilRunner.Transport.Tests.Capture;

/// <summary>A general packet tool (tshark of Debian) reads what the store writes.</summary>
public class GeneralToolTests
{
    [Test]
    public void Tshark_sees_every_packet_with_direction_interface_and_nanoseconds()
    {
        using TemporaryFolder folder = TestPaths.NewFolder();
        string path = folder.File("link.pcapng");
        var clock = new HostClock(TimeProvider.System);
        HostTime start = clock.Now;
        using (ICaptureWriter writer = new CaptureStore().Create(path, clock))
        {
            writer.Event(start, RunEventNames.Opened, ("link", "a b"));
            writer.Bytes(CaptureKind.ToDevice, new(start.Ns + 1), "hi\n"u8);
            writer.Bytes(CaptureKind.FromDevice, new(start.Ns + 1_000_000_023), "c 1 x\n"u8);
        }
        string[] rows = Tshark("-r", path, "-T", "fields", "-e", "frame.time_epoch", "-e", "frame.packet_flags_direction", "-e", "frame.interface_name",
            "-e", "frame.len");
        long unixNs = clock.ToUnixNs(start);
        Assert.That(rows, Is.EqualTo(new[]
        {
            $"{Seconds(unixNs)}\t0x00000000\tevents\t17",
            $"{Seconds(unixNs + 1)}\t0x00000002\tbytes\t3",
            $"{Seconds(unixNs + 1_000_000_023)}\t0x00000001\tbytes\t6",
        }));
        Assert.That(string.Join('\n', Tshark("-r", path, "-x")), Does.Contain("opened link=a%20").And.Contain("c 1 x."));
    }

    private static string Seconds(long ns) => $"{ns / 1_000_000_000}.{ns % 1_000_000_000:000000000}";

    private static string[] Tshark(params string[] arguments)
    {
        var start = new ProcessStartInfo("tshark", arguments) { RedirectStandardOutput = true, RedirectStandardError = true };
        using Process process = Process.Start(start)!;
        Task<string> errors = process.StandardError.ReadToEndAsync();
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.That(process.ExitCode, Is.Zero, errors.Result);
        return output.Split('\n', StringSplitOptions.RemoveEmptyEntries);
    }
}
