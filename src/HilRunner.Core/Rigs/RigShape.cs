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
        var prepare = keys.Default("prepare", new ListShape<PrepareCommand>("a list of commands", Prepare(), 0, 100), "[]",
            "Commands that flash and power-cycle, in order; run without a shell; {image} is the firmware file, {port} the path of the rig's port as it is found now, {rig} the rig's name; what they print is kept in prepare.log.");
        var health = keys.Default("health", Health(), "{}", "What the rig itself must keep to; beyond these a run proves nothing about the device.");
        keys.Check((entries, reading) =>
        {
            if (entries.TryGet(before, out var step) && entries.TryGet(device, out var described) && !RigChecks.CanWaitFor(step.Until, described.Says))
            {
                reading.Faults.Add(entries.NodeOf(before), $"before_each waits for {step.Until}", $"a message that device.says describes", $"add {step.Until} under says");
            }
        });
        return (entries, _) => new Rig
        {
            Name = entries.Get(name),
            Device = entries.Get(device),
            BeforeEach = entries.Maybe(before),
            Prepare = entries.Get(prepare),
            Health = entries.Get(health),
        };
    });

    private static MapShape<SendStep> Send() => MapShape.Of<SendStep>(null, "a map with send", keys =>
    {
        var send = keys.Required("send", MessageShapes.Outgoing(), "The message.");
        var wait = keys.Default("wait", WaitShapes.Wait, "0 s", WaitShapes.WaitDoc);
        var until = keys.Optional("until", WaitShapes.Until, WaitShapes.UntilDoc);
        keys.Check((entries, reading) => WaitShapes.NeedWait(entries, until, wait, reading));
        return (entries, _) => new SendStep(entries.Get(send), entries.Get(wait), entries.Maybe(until));
    });

    private static EitherShape<PrepareCommand> Prepare() => new("a command: [program, argument, …] or {program: …, args: […], limit: 60 s, retries: 2, port: 10 s}",
        list: ProgramShapes.Words.Select((words, node, reading) => Checked(new(words[0], [.. words.Skip(1)], TimeSpan.FromMinutes(1)), node, reading)),
        map: MapShape.Of<PrepareCommand>(null, "a map with program", keys =>
        {
            var program = keys.Required("program", ProgramShapes.Program, "The program; with a slash: relative to this file, without: looked up in PATH.");
            var args = keys.Default("args", ProgramShapes.Arguments, "[]", "Its arguments; each placeholder stays one argument.");
            var limit = keys.Default("limit", Shapes.Duration("100 ms", "1 h"), "1 min", "It is ended, and the rig is at fault, after this long.");
            var retries = keys.Default("retries", Shapes.Integer(0, 10), "0", "How often it is tried again, a second later, after it failed or took too long.");
            var port = keys.Default("port", Shapes.Duration("0 s", "5 min"), "0 s", "After it: wait at most this long until the rig's port is there again, as boards re-enumerate when they are flashed.");
            return (entries, reading) => Checked(new(entries.Get(program), entries.Get(args), entries.Get(limit)) { Retries = entries.Get(retries), Port = entries.Get(port) }, entries.Node, reading);
        }));

    private static MapShape<HealthLimits> Health() => MapShape.Of<HealthLimits>("Health", "a map of limits", keys =>
    {
        var late = keys.Default("late", Shapes.Duration("0 s", "10 s"), "5 ms", "Latest a sample may be after it was due.");
        var lost = keys.Default("lost", Shapes.Count, "0", "Samples that may be lost.");
        var clock = keys.Default("clock", Shapes.Duration("0 s", "10 s"), "2 ms", "Largest half-width of the clock map; judged only where device time is used.");
        var unknown = keys.Optional("lines_unknown", Shapes.Count, "Messages that no description fits that may be seen. Absent: any number, for devices that chat; 0 where every message is described: then a garbled one is the rig's trouble.");
        var frames = keys.Default("frames_bad", Shapes.Count, "0", "Damaged frames from the device that may be seen.");
        var silence = keys.Default("silence", Shapes.Duration("10 ms", "1 h"), "10 s", "The run ends when the device gives no credit, or says nothing while it plays, for this long.");
        return (entries, _) => new HealthLimits
        {
            Late = entries.Get(late),
            Lost = entries.Get(lost),
            Clock = entries.Get(clock),
            FramesBad = entries.Get(frames),
            LinesUnknown = entries.MaybeValue(unknown),
            Silence = entries.Get(silence),
        };
    });

    private static PrepareCommand Checked(PrepareCommand command, Node node, Reading reading)
    {
        foreach (string name in command.Arguments.Prepend(command.Program).SelectMany(MessageShapes.Placeholders).Where(n => n is not ("image" or "port" or "rig")))
        {
            reading.Faults.Add(node, $"unknown placeholder {{{name}}} in {node.Path}", "{image}, the firmware file; {port}, the path of the rig's port; or {rig}, the rig's name");
        }
        return command;
    }
}
