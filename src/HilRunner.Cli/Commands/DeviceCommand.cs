using System.CommandLine;
using HilRunner.Application.Benches;
using HilRunner.Application;
using HilRunner.Core.Links;
using HilRunner.Core.Models;
using HilRunner.Device;
using HilRunner.Transport.Links;

namespace HilRunner.Cli.Commands;

/// <summary>The virtual device alone, for another program to talk to.</summary>
internal static class DeviceCommand
{
    private static readonly Option<string> s_rig = new("--rig") { Description = "A rig file whose link is builtin.", Required = true };
    private static readonly Option<string?> s_link = new("--link") { Description = "Another builtin link, with faults: builtin:lines?model=PATH&delay=20ms&reset_at=500" };
    private static readonly Option<int?> s_tcp = new("--tcp") { Description = "Listen on this TCP port of this machine instead of a pty; 0: any free one." };

    public static Command Create()
    {
        var command = new Command(
            "device",
            """
            Runs the virtual device on a pseudo-terminal (or a TCP port), prints where, and goes on until
            interrupted. Another program plays the host.

            Example:
              hil device --rig rigs/virtual.yaml
            """)
        { s_rig, s_link, s_tcp };
        command.SetAction(Run);
        return command;
    }

    private static Task<int> Run(ParseResult parsed, CancellationToken stop)
    {
        var rig = RigFiles.Read(parsed.GetValue(s_rig)!, parsed.GetValue(s_link));
        if (rig.Device.Link is not BuiltinLinkSpec builtin)
        {
            throw new UsageException($"device: {parsed.GetValue(s_rig)} has no builtin link; use rigs/virtual.yaml or --link builtin:…");
        }
        var model = MotionModel.Read(builtin.Options.Model);
        if (parsed.GetValue(s_tcp) is { } port)
        {
            using var host = TcpHost.Listen(Composition.Clock, port);
            Console.Out.WriteLine($"tcp://127.0.0.1:{host.Port}");
            Play(builtin.Options, model, host, stop);
        }
        else
        {
            using var host = PtyHost.Create(Composition.Clock);
            Console.Out.WriteLine(host.Path);
            Play(builtin.Options, model, host, stop);
        }
        return Task.FromResult(ExitCodes.Pass);
    }

    private static void Play(VirtualDeviceOptions options, MotionModel model, ILink link, CancellationToken stop)
    {
        Console.Out.Flush();
        using var device = new VirtualDevice(options, model, link, Composition.Clock);
        device.Run(stop);
    }
}
