using HilRunner.Core.Documents;

namespace HilRunner.Core.Rigs;

/// <summary>The whole rig file.</summary>
internal static class RigShape
{
    public static Shape<Rig> Shape { get; } = MapShape.Of<Rig>("Rig", "a rig", keys =>
    {
        var name = keys.Required("rig", Shapes.Text("the rig's name", "bench-1"), "Name of the bench position.");
        var device = keys.Required("device", DeviceShape.Shape, "The device and its format.");
        var before = keys.Optional("before_each", Send(), "Sent before every run, so that no state leaks from run to run.");
        var prepare = keys.Default("prepare", StepShapes.Steps, "[]",
            "What flashes and powers the device, in order: programs, run without a shell, and switching of the supply. {image} is the firmware file, {port} the path of the rig's port as it is found now, {rig} the rig's name; what they print is kept in prepare.log.");
        var erase = keys.Default("may_erase", StepShapes.Erases, "nothing", "What prepare may erase without asking: nothing, firmware (flashing again undoes it), or data, too (settings, calibration, logs). Beyond it a terminal is asked; without one nothing is played.");
        var readBack = keys.Optional("read_back", StepShapes.ReadBack, "A program that reads the image on the device into the file {kept}, before anything is erased. It is kept under the runs' folder.");
        var supply = keys.Optional("supply", StepShapes.Supply, "A bench supply that feeds the device.");
        var recover = keys.Default("recover", StepShapes.Recover, "{}", "How the rig is brought back when its link is lost or the device does not answer.");
        var shaker = keys.Optional("shaker", ShakerShape.Shape, "The table that the device is mounted on. Read the cautions of README.md first.");
        var health = keys.Default("health", Health(), "{}", "What the rig itself must keep to; beyond these a run proves nothing about the device.");
        keys.Check((entries, reading) =>
        {
            if (entries.TryGet(before, out var step) && entries.TryGet(device, out var described) && !RigChecks.CanWaitFor(step.Until, described.Says))
            {
                reading.Faults.Add(entries.NodeOf(before), $"before_each waits for {step.Until}", $"a message that device.says describes", $"add {step.Until} under says");
            }
        });
        keys.Check((entries, reading) =>
        {
            bool switches = entries.TryGet(prepare, out var steps) && entries.TryGet(recover, out var recovery) && steps.Concat(recovery.Reset).Concat(recovery.PowerCycle).Any(s => s is SupplyStep);
            if (switches && !entries.Has(supply)) { reading.Faults.Add(entries.Has(prepare) ? entries.NodeOf(prepare) : entries.Node, "a step that switches a supply, and no supply", "supply: how to reach it, and what it may feed", "add it to the rig"); }
        });
        return (entries, _) => new Rig
        {
            Name = entries.Get(name),
            Device = entries.Get(device),
            BeforeEach = entries.Maybe(before),
            Prepare = entries.Get(prepare),
            MayErase = entries.Get(erase),
            ReadBack = entries.Maybe(readBack),
            Supply = entries.Maybe(supply),
            Recovery = entries.Get(recover),
            Shaker = entries.Maybe(shaker),
            Health = Complete(entries.Get(health), entries.Get(device)),
        };
    });

    /// <summary>A rig that describes all that its device says takes what it does not describe for damage.</summary>
    private static HealthLimits Complete(HealthLimits limits, DeviceDescription device) =>
        limits.LinesUnknown is null && device.Says.Ignore is not null ? limits with { LinesUnknown = 0 } : limits;

    private static MapShape<SendStep> Send() => MapShape.Of<SendStep>(null, "a map with send", keys =>
    {
        var send = keys.Required("send", MessageShapes.Outgoing(), "The message.");
        var wait = keys.Default("wait", WaitShapes.Wait, "0 s", WaitShapes.WaitDoc);
        var until = keys.Optional("until", WaitShapes.Until, WaitShapes.UntilDoc);
        keys.Check((entries, reading) => WaitShapes.NeedWait(entries, until, wait, reading));
        return (entries, _) => new SendStep(entries.Get(send), entries.Get(wait), entries.Maybe(until));
    });

    private static MapShape<HealthLimits> Health() => MapShape.Of<HealthLimits>("Health", "a map of limits", keys =>
    {
        var late = keys.Default("late", Shapes.Duration("0 s", "10 s"), "5 ms", "Latest a sample may be after it was due.");
        var lost = keys.Default("lost", Shapes.Count, "0", "Samples that may be lost.");
        var clock = keys.Default("clock", Shapes.Duration("0 s", "10 s"), "2 ms", "Largest half-width of the clock map; judged only where device time is used.");
        var unknown = keys.Optional("lines_unknown", Shapes.Count,
            "Messages that no description fits that may be seen. Absent: 0 where device.says.ignore is given, which says that every message is described: a garbled one is then the rig's trouble; else any number, for devices that chat, and the count stands beside the verdict.");
        var share = keys.Default("lost_share", Shapes.Share,
            "1 %", "Share of unanswered questions that may be: beyond it (its exact lower bound at 95 %) delivery is disproved.");
        var frames = keys.Default("frames_bad", Shapes.Count, "0", "Damaged frames from the device that may be seen.");
        var silence = keys.Default("silence", Shapes.Duration("10 ms", "1 h"), "10 s", "The run ends when the device gives no credit, or says nothing while it plays, for this long.");
        return (entries, _) => new HealthLimits
        {
            Late = entries.Get(late),
            Lost = entries.Get(lost),
            Clock = entries.Get(clock),
            FramesBad = entries.Get(frames),
            LinesUnknown = entries.MaybeValue(unknown),
            LostShare = entries.Get(share),
            Silence = entries.Get(silence),
        };
    });
}
