using System.Globalization;
using System.Runtime.InteropServices;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Testing;
using HilRunner.Transport.Links;

namespace HilRunner.Emulated.Tests.Bench;

/// <summary>
/// One emulated device: started by rigs/emulated/run, its UART a process link, with a control socket. Disposing ends it, and
/// fails where it does not end.
/// </summary>
internal sealed partial class Emulator : IDisposable
{
    private const int Stopped = 19, Continued = 18;
    private static int s_count;
    private ControlSocket? _control;

    public Emulator(ImageSpec spec) : this(Images.Get(spec)) { }

    public Emulator(string image)
    {
        Room.Await();
        SocketPath = Path.Combine(Images.Folder, $"control-{Interlocked.Increment(ref s_count)}.socket");
        Link = ProcessLink.Run(Clock, RunScript, [image, "--control", SocketPath]);
    }

    public static HostClock Clock { get; } = new(TimeProvider.System);

    public static string RunScript { get; } = Path.Combine(TestPaths.Root, "rigs", "emulated", "run");

    public ILink Link { get; }

    public string SocketPath { get; }

    public ControlSocket Control => _control ??= ControlSocket.Connect(SocketPath, Clock);

    /// <summary>
    /// Keeps the whole emulator from running for this long, as a busy host does: the device's timer, which follows the host's
    /// clock, runs on. (The control socket's stop freezes the timer, too.)
    /// </summary>
    public void Stall(TimeSpan time)
    {
        int id = ProcessIds(SocketPath).Single(p => File.ReadAllText($"/proc/{p}/cmdline").StartsWith("qemu-system-arm", StringComparison.Ordinal));
        using var never = new ManualResetEventSlim();
        Assert.That(kill(id, Stopped), Is.Zero);
        never.Wait(time);
        Assert.That(kill(id, Continued), Is.Zero);
    }

    public void Dispose()
    {
        _control?.Dispose();
        Link.Dispose();
        Assert.That(ProcessIds(SocketPath), Is.Empty, "an emulator was left running");
    }

    /// <summary>Processes whose command line holds this text: one that is no part of another emulator's.</summary>
    public static List<int> ProcessIds(string text)
    {
        var found = new List<int>();
        foreach (string folder in Directory.EnumerateDirectories("/proc"))
        {
            if (!int.TryParse(Path.GetFileName(folder), NumberStyles.None, CultureInfo.InvariantCulture, out int id) || id == Environment.ProcessId) { continue; }
            try
            {
                if (File.ReadAllText(Path.Combine(folder, "cmdline")).Contains(text, StringComparison.Ordinal)) { found.Add(id); }
            }
            catch (IOException gone)
            {
                // It ended while it was looked at.
                _ = gone;
            }
        }
        return found;
    }

    [LibraryImport("libc")]
    private static partial int kill(int process, int signal);
}
