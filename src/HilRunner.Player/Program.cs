using System.Runtime.InteropServices;
using HilRunner.Core;
using HilRunner.Core.Links;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Device;
using HilRunner.Engine.Plans;
using HilRunner.Engine.Playing;
using HilRunner.Transport.Capture;
using HilRunner.Transport.Decoding;

namespace HilRunner.Player;

/// <summary>
/// Owns a rig's port and plays plans into it: they come down standard input, one line for each goes back on standard output, and
/// the end of its input ends it. It does nothing else, so that nothing else can hold its pacing up.
/// </summary>
internal static class Program
{
    private const int Failed = 3;

    private static int Main()
    {
        try
        {
            Play();
            return 0;
        }
        catch (Exception fault) when (fault is BadInputException or LinkException or IOException or UnauthorizedAccessException
            or InvalidDataException)
        {
            // The parent takes it for why the player ended.
            Console.Error.WriteLine(fault.Message);
            return Failed;
        }
    }

    private static void Play()
    {
        // The terminal's interrupt reaches the whole group; the parent decides what becomes of the run.
        using var interrupt = PosixSignalRegistration.Create(PosixSignal.SIGINT, context => context.Cancel = true);
        using var hangUp = PosixSignalRegistration.Create(PosixSignal.SIGHUP, context => context.Cancel = true);
#pragma warning disable RS0030 // No person reads this: bytes to the parent.
        using Stream plans = Console.OpenStandardInput(), answers = Console.OpenStandardOutput();
#pragma warning restore RS0030
        var pipe = new BufferedStream(plans, 1 << 16);
        PlayerOrder order = PlanPipe.ReadOrder(pipe);
        var clock = new HostClock(TimeProvider.System);
        clock.Adopt(order.UnixAtZeroNs);
        var rig = RigFile.Parse(order.RigText, order.RigPath);
        rig = RigLink.Replaced(rig, order.LinkUrl is { } url ? LinkUrl.Parse(url, rig.Device.Link) : null);
        using var session = new PlayerSession(rig, RigLink.Opener(clock), new DeviceFormatFactory(), new CaptureStore(), clock);
        PlayerLoop.Run(session, pipe, answers);
    }
}
