using System.Text.RegularExpressions;
using HilRunner.Core.Documents;
using HilRunner.Core.Links;

namespace HilRunner.Core.Rigs;

/// <summary>Steps that prepare a rig and bring it back, and the supply that they switch.</summary>
internal static partial class StepShapes
{
    public static WordShape<Erasure> Erases => new(("nothing", Erasure.Nothing), ("firmware", Erasure.Firmware), ("data", Erasure.Data));

    private static Shape<PrepareStep> Step { get; } = new EitherShape<PrepareStep>("a step: [program, argument, …], {program: …, args: […], limit: 60 s}, or {supply: cycle}",
        list: ProgramShapes.Words.Select(PrepareStep (words, node, reading) => Checked(new ProgramStep(words[0], [.. words.Skip(1)], TimeSpan.FromMinutes(1)), node, reading)),
        map: MapShape.Of<PrepareStep>(null, "a map with program or supply", keys =>
        {
            var program = keys.Optional("program", ProgramShapes.Program, "The program; with a slash: relative to this file, without: looked up in PATH.");
            var supply = keys.Optional("supply", new WordShape<SupplyAction>(("on", SupplyAction.On), ("off", SupplyAction.Off), ("cycle", SupplyAction.Cycle)), "Switches the rig's supply: on, off, or off and on again.");
            var args = keys.Default("args", ProgramShapes.Arguments, "[]", "Of the program; each placeholder stays one argument.");
            var erases = keys.Optional("erases", Erases, "What the program erases: nothing, firmware, data. Absent: firmware where it is given {image}, else nothing.");
            var limit = keys.Default("limit", Shapes.Duration("100 ms", "1 h"), "1 min", "A program is ended, and the rig is at fault, after this long.");
            var off = keys.Default("off_for", Shapes.Duration("10 ms", "10 min"), "1 s", "supply: cycle: how long it stays off.");
            var retries = keys.Default("retries", Shapes.Integer(0, 10), "0", "How often it is tried again, a second later, after it failed or took too long.");
            var port = keys.Default("port", Shapes.Duration("0 s", "5 min"), "0 s", "After it: wait at most this long until the rig's port is there again, as boards re-enumerate when they are flashed.");
            keys.ExactlyOne(program, supply);
            return (entries, reading) => entries.Maybe(program) is { } name
                ? Checked(new ProgramStep(name, entries.Get(args), entries.Get(limit)) { Stated = entries.MaybeValue(erases), Retries = entries.Get(retries), Port = entries.Get(port) }, entries.Node, reading)
                : new SupplyStep(entries.MaybeValue(supply) ?? SupplyAction.Off, entries.Get(off)) { Retries = entries.Get(retries), Port = entries.Get(port) };
        }));

    public static ListShape<PrepareStep> Steps => new("a list of steps", Step, 0, 100);

    public static Shape<ProgramStep> ReadBack { get; } = ProgramShapes.Words.Select((words, node, reading) =>
    {
        var step = new ProgramStep(words[0], [.. words.Skip(1)], TimeSpan.FromMinutes(5));
        if (!step.Words.Any(w => w.Contains("{kept}", StringComparison.Ordinal))) { reading.Faults.Add(node, "a read_back without {kept}", "{kept} where the program is told the file to write"); }
        CheckPlaceholders(step, node, reading, "kept");
        return step;
    });

    public static MapShape<Supply> Supply { get; } = MapShape.Of<Supply>("Supply", "a map with scpi, voltage, current, envelope, cell", keys =>
    {
        var link = keys.Required("scpi", new OneKeyShape<LinkSpec>("a link",
            Case.Of("tcp", LinkShape.Tcp.Select(LinkSpec (l) => l), "On the network, host:port; instruments listen on 5025."),
            Case.Of("serial", LinkShape.Serial.Select(LinkSpec (l) => l), "On a serial or USB port."),
            Case.Of("pty", LinkShape.Pty.Select(LinkSpec (l) => l), "On an existing pseudo-terminal.")), "How to reach it.");
        var identity = keys.Optional("identity", Shapes.Text("a regular expression", "^bench supply,"), "What its answer to *IDN? must match, so that no other instrument is switched.");
        var voltage = keys.Required("voltage", Shapes.Quantity(UnitKind.Voltage, "0 V", "1000 V", aboveMin: true), "What it is set to before it is switched on.");
        var current = keys.Required("current", Shapes.Quantity(UnitKind.Current, "0 A", "1000 A", aboveMin: true), "The limit it is set to before it is switched on.");
        var envelope = keys.Required("envelope", Envelope(), "What the device may be fed with: checked before it is switched on, against what the supply says it is set to, and against what it measures after.");
        var cell = keys.Required("cell", new WordShape<bool>(("removed", false), ("fitted", true)), "removed, or fitted: a supply must not feed a device whose own cell is fitted, and is never switched on then.");
        keys.Check((entries, reading) =>
        {
            if (entries.TryGet(cell, out bool fitted) && fitted)
            {
                reading.Faults.Add(entries.NodeOf(cell), "a supply for a device with its cell fitted", "cell: removed", "take the cell out first, as the maker says: a supply that feeds back into a cell can set it on fire");
            }
            if (entries.TryGet(identity, out string? pattern) && !IsPattern(pattern)) { reading.Faults.Add(entries.NodeOf(identity), "supply.identity is no regular expression", "one, such as ^bench supply,"); }
            if (entries.TryGet(voltage, out double volts) && entries.TryGet(current, out double amperes) && entries.TryGet(envelope, out var within) && !within.Allows(volts, amperes))
            {
                reading.Faults.Add(entries.NodeOf(voltage), FormattableString.Invariant($"{volts} V at {amperes} A, outside the supply's envelope"),
                    FormattableString.Invariant($"{within.LeastVoltage} V to {within.MostVoltage} V, at most {within.MostCurrent} A"), "correct the one that is wrong");
            }
        });
        return (entries, _) => new(entries.Get(link), entries.Get(voltage), entries.Get(current), entries.Get(envelope)) { Identity = entries.Maybe(identity) };
    });

    public static MapShape<Recovery> Recover { get; } = MapShape.Of<Recovery>("Recovery", "a map with repeats, reset, power_cycle, prepare", keys =>
    {
        var repeats = keys.Default("repeats", Shapes.Integer(0, 5), "1", "How often a run that the rig spoiled (link lost, late or lost samples, garbled messages) is played again; a link that was lost is opened again first, for up to 10 s, wherever it is plugged in now.");
        var reset = keys.Default("reset", Steps, "[]", "Then: steps that reset the device where it does not listen to before_each; played again after them.");
        var power = keys.Default("power_cycle", Steps, "[]", "Then: steps that take its power away and give it back.");
        var prepare = keys.Default("prepare", Shapes.Flag, "false", "true: the last try is to prepare the rig anew, flashing included.");
        return (entries, _) => new Recovery { Repeats = entries.Get(repeats), Reset = entries.Get(reset), PowerCycle = entries.Get(power), Prepare = entries.Get(prepare) };
    });

    private static MapShape<SupplyEnvelope> Envelope() => MapShape.Of<SupplyEnvelope>(null, "a map with at_least, at_most, current", keys =>
    {
        var least = keys.Required("at_least", Shapes.Quantity(UnitKind.Voltage, "0 V", "1000 V"), "Lowest voltage.");
        var most = keys.Required("at_most", Shapes.Quantity(UnitKind.Voltage, "0 V", "1000 V", aboveMin: true), "Highest voltage.");
        var current = keys.Required("current", Shapes.Quantity(UnitKind.Current, "0 A", "1000 A", aboveMin: true), "Highest current.");
        return (entries, _) => new(entries.Get(least), entries.Get(most), entries.Get(current));
    });

    private static ProgramStep Checked(ProgramStep step, Node node, Reading reading)
    {
        CheckPlaceholders(step, node, reading, "image");
        // What nothing can undo is never done: a word that smells of it must be looked at by whoever writes the file. The folder of a program says nothing of what it does.
        if (step.Stated is null && step.Arguments.Prepend(Path.GetFileName(step.Program)).FirstOrDefault(w => Irrevocable().IsMatch(w)) is { } word)
        {
            reading.Faults.Add(node, $"{word} in {node.Path}, which may be beyond undoing", "no step that burns fuses or locks read-out; of a step that does not, what it erases", "remove it, or say erases: nothing, firmware or data");
        }
        return step;
    }

    private static void CheckPlaceholders(ProgramStep step, Node node, Reading reading, string file)
    {
        foreach (string name in step.Words.SelectMany(MessageShapes.Placeholders).Where(n => n != file && n is not ("port" or "rig")))
        {
            reading.Faults.Add(node, $"unknown placeholder {{{name}}} in {node.Path}", $"{{{file}}}, {(file == "image" ? "the firmware file" : "the file to write")}; {{port}}, the path of the rig's port; or {{rig}}, the rig's name");
        }
    }

    private static bool IsPattern(string text)
    {
        try
        {
            _ = Regex.Match("", text, RegexOptions.None, TimeSpan.FromSeconds(1));
            return true;
        }
        catch (ArgumentException) { return false; }
    }

    [GeneratedRegex("fuse|otp|rdp|read-?out|protect", RegexOptions.IgnoreCase | RegexOptions.CultureInvariant)]
    private static partial Regex Irrevocable();
}
