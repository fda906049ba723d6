using System.CommandLine;
using System.Runtime.InteropServices;
using HilRunner.Application.Benches;
using HilRunner.Core.Rigs;
using HilRunner.Engine.Plans;
using HilRunner.Engine.Playing;

namespace HilRunner.Cli.Commands;

/// <summary>The process that owns a rig's port. Started by <c>hil run</c>, never by a person.</summary>
internal static class PlayerCommand
{
    public static Command Create()
    {
        var command = new Command("player", "Plays plans from standard input; started by 'hil run'.") { Hidden = true };
        command.SetAction(_ => Run());
        return command;
    }

    private static int Run()
    {
        // The terminal's interrupt reaches the whole group; the parent decides what becomes of the run.
        using var interrupt = PosixSignalRegistration.Create(PosixSignal.SIGINT, context => context.Cancel = true);
        using var hangUp = PosixSignalRegistration.Create(PosixSignal.SIGHUP, context => context.Cancel = true);
#pragma warning disable RS0030 // No person reads this: bytes to the parent.
        using Stream plans = Console.OpenStandardInput(), answers = Console.OpenStandardOutput();
#pragma warning restore RS0030
        var pipe = new BufferedStream(plans, 1 << 16);
        PlayerOrder order = PlanPipe.ReadOrder(pipe);
        Composition.Clock.Adopt(order.UnixAtZeroNs);
        var rig = RigFiles.WithLink(RigFile.Parse(order.RigText, order.RigPath), order.LinkUrl);
        using var session = new PlayerSession(rig, Composition.Context.Links, Composition.Context.Formats, Composition.Context.Captures, Composition.Clock);
        PlayerLoop.Run(session, pipe, answers);
        return ExitCodes.Pass;
    }
}
