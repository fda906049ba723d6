using HilRunner.Core.Documents;
using HilRunner.Core.Links;
using HilRunner.Core.Shakers;

namespace HilRunner.Core.Rigs;

/// <summary>A rig's <c>shaker:</c>.</summary>
internal static class ShakerShape
{
    private static readonly WordShape<TableState> s_state = new(("resting", TableState.Resting), ("armed", TableState.Armed), ("moving", TableState.Moving), ("stopping", TableState.Stopping),
        ("interlock", TableState.Interlock), ("limit", TableState.Limit), ("hot", TableState.Hot), ("fault", TableState.Fault));

    public static Shape<Shaker> Shape { get; } = MapShape.Of<Shaker>("Shaker", "a shaker", keys =>
    {
        var link = keys.Required("link", LinkShape.Shape, "How to reach the table's controller. Its lines are left alone: a port's control lines must not enable a drive.");
        var axis = keys.Required("axis", Shapes.Direction, "The device's axis that the table moves along, as the device is mounted.");
        var up = keys.Default("up", Shapes.Direction, "z", "The device's direction that points up as it is mounted.");
        var hears = keys.Required("hears", Hears(), "What the controller hears, line by line.");
        var says = keys.Required("says", Says(), "What it says.");
        var watchdog = keys.Optional("watchdog", Shapes.Duration("50 ms", "5 s"), "The controller stops by itself when it has heard nothing for this long. Absent: it does not, and is not driven unless somebody stands by it.");
        var answer = keys.Default("answer", Shapes.Duration("10 ms", "10 s"), "250 ms", "How long an answer may take.");
        var heartbeat = keys.Default("heartbeat", Shapes.Duration("10 ms", "1 s"), "50 ms", "How often its status is asked while it is armed; at most a third of the watchdog.");
        var envelope = keys.Required("envelope", Envelope(), "What the table may be made to do; nothing outside it is sent, whatever any file says.");
        var reference = keys.Optional("reference", Reference(), "An accelerometer on the table that an instrument of its own reads, where the controller's status has no g.");
        var gPerVolt = keys.Optional("most_g_per_volt", Shapes.Number(0.000001, 1_000_000), "For {v}: the most that a volt can become, at the highest gain that the amplifier has. How much it is now, the first motion measures.");
        var stream = keys.Optional("stream", Stream(), "How the controller is told positions, for recordings on the table; absent: it knows sines alone.");
        keys.Check((entries, reading) =>
        {
            if (entries.TryGet(stream, out var told) && entries.TryGet(envelope, out var limits) && told.Rate.Hertz < StreamGate.RatePerHz * limits.ToHz)
            {
                reading.Refuse(entries.NodeOf(stream), FormattableString.Invariant($"{told.Rate.Hertz:0.###} positions a second for motion up to {limits.ToHz:0.###} Hz"), $"at least {StreamGate.RatePerHz} for each hertz", "so that nothing happens between two positions");
            }
            if (entries.TryGet(says, out var said) && entries.Maybe(reference) is var sensor && (sensor is null) != said.Status.Contains("(?<g>", StringComparison.Ordinal))
            {
                reading.Refuse(entries.NodeOf(says), sensor is null ? "a status without g, and no reference" : "a status with g, and a reference too", "one of them: what measures the table's acceleration", "without it nothing stops a table that moves more than it is told");
            }
            if (entries.TryGet(hears, out var commands) && entries.MaybeValue(gPerVolt) is var most && (most is null) == commands.Sine.Contains("{v}", StringComparison.Ordinal))
            {
                reading.Refuse(entries.NodeOf(hears), most is null ? "{v} without most_g_per_volt" : "most_g_per_volt without {v}", "both, or neither");
            }
            if (entries.TryGet(watchdog, out var dog) && entries.TryGet(heartbeat, out var beat) && beat * 3 > dog)
            {
                reading.Refuse(entries.NodeOf(heartbeat), $"{beat.TotalMilliseconds:0} ms", $"at most a third of the watchdog of {dog.TotalMilliseconds:0} ms", "or one lost answer stops the table");
            }
            if (entries.TryGet(link, out var port) && port is SerialLinkSpec { Handshake: SerialHandshake.RtsCts })
            {
                reading.Refuse(entries.NodeOf(link), "a port whose RTS is switched", "no rts_cts", "an enable input of a drive on a control line would be switched by opening the port: wire it to an interlock instead");
            }
            if (entries.TryGet(link, out var reached) && reached is BuiltinLinkSpec) { reading.Refuse(entries.NodeOf(link), "builtin", "a serial, pty, tcp or process link", "hil shaker runs a simulated table on a pty"); }
        });
        return (entries, _) => new Shaker
        {
            Link = entries.Get(link), Axis = entries.Get(axis), Up = entries.Get(up), Hears = entries.Get(hears), Says = entries.Get(says),
            Watchdog = entries.MaybeValue(watchdog), Answer = entries.Get(answer), Reference = entries.Maybe(reference), MostGPerVolt = entries.MaybeValue(gPerVolt), Heartbeat = entries.Get(heartbeat), Envelope = entries.Get(envelope), Stream = entries.Maybe(stream),
        };
    });

    private static MapShape<ShakerHears> Hears() => MapShape.Of<ShakerHears>("What the controller hears", "a map with identity, arm, sine, stop, status", keys =>
    {
        var identity = keys.Required("identity", Line(), "Asks who it is.");
        var arm = keys.Required("arm", Line(), "Makes it ready to move. Sent only after a person or an interlock has said yes.");
        var sine = keys.Required("sine", Line("hz", "mm", "um", "g", "v"), "Moves as a sine: {hz}, and the amplitude, zero to peak, as {mm} or {um} of displacement, {g} of acceleration or {v} of an amplifier's input. Sent again to change the level.");
        var stop = keys.Required("stop", Line(), "Brings it to rest.");
        var status = keys.Required("status", Line(), "Asks how it is; it is also what tells the watchdog that the host is there.");
        keys.Check((entries, reading) =>
        {
            if (!entries.TryGet(sine, out string? text)) { return; }
            List<string> names = [.. MessageShapes.Placeholders(text)];
            if (!names.Contains("hz") || names.Count(n => n is "mm" or "um" or "g" or "v") != 1) { reading.Refuse(entries.NodeOf(sine), entries.NodeOf(sine).Shown, "{hz}, and one of {mm}, {um}, {g}, {v}"); }
        });
        return (entries, _) => new(entries.Get(identity), entries.Get(arm), entries.Get(sine), entries.Get(stop), entries.Get(status));
    });

    private static Shape<string> Line(params string[] placeholders) => Shapes.Text("a line to send").Select((text, node, reading) =>
    {
        foreach (string name in MessageShapes.Placeholders(text).Except(placeholders)) { reading.Refuse(node, $"{node.Shown}, with {{{name}}}", placeholders.Length == 0 ? "no placeholders" : string.Join(" ", placeholders.Select(p => $"{{{p}}}"))); }
        return text;
    });

    private static MapShape<ShakerSays> Says() => MapShape.Of<ShakerSays>("What the controller says", "a map with identity, done, refused, status, states", keys =>
    {
        var identity = keys.Required("identity", MessageShapes.Pattern(true), "Its answer to identity: so that no other instrument is driven.");
        var done = keys.Required("done", MessageShapes.Pattern(true), "It took a command.");
        var refused = keys.Required("refused", MessageShapes.Pattern(true, ["why"]), "It did not; group why.");
        var status = keys.Required("status", MessageShapes.Pattern(true, ["state"]), "Its status: groups state; g, the acceleration that it measures, peak, in g, unless a reference does; mm, its place, if it says so.");
        var states = keys.Required("states", new NamedShape<TableState>("a map from the controller's word to a state", "WORD", @"^\S.{0,99}$", s_state).Select(named => (IReadOnlyDictionary<string, TableState>)named.Own.ToDictionary(o => o.Key.Text, o => o.Value, StringComparer.Ordinal)),
            "The controller's word → resting, armed, moving, stopping, interlock, limit, hot or fault. A word that is not listed stops the table.");
        return (entries, _) => new(entries.Get(identity), entries.Get(done), entries.Get(refused), entries.Get(status), entries.Get(states));
    });

    private static MapShape<ShakerReference> Reference() => MapShape.Of<ShakerReference>("Reference accelerometer", "a map with link, ask, answer, g_per_unit", keys =>
    {
        var link = keys.Required("link", LinkShape.Shape, "How to reach the instrument that reads it.");
        var ask = keys.Required("ask", Line(), "Is answered by one value: MEAS:VOLT:AC? of a voltmeter that speaks SCPI.");
        var answer = keys.Required("answer", MessageShapes.Pattern(true, ["value"]), "Its answer: group value.");
        var gPerUnit = keys.Required("g_per_unit", Shapes.Number(0.000001, 1_000_000), "What a value of 1 is, in g, peak, of a sine: for 0.1 V/g and a voltmeter that says rms, √2/0.1 = 14.14.");
        var within = keys.Default("within", Shapes.Duration("20 ms", "5 s"), "1 s", "How long an answer may take, and how old it may be: then the table is stopped.");
        return (entries, _) => new(entries.Get(link), entries.Get(ask), entries.Get(answer), entries.Get(gPerUnit), entries.Get(within));
    });

    private static MapShape<ShakerStream> Stream() => MapShape.Of<ShakerStream>("Positions", "a map with rate, buffer, begin, positions, go, end, credit", keys =>
    {
        var rate = keys.Required("rate", Shapes.Rate, "Positions a second: at least eight times the envelope's highest frequency.");
        var buffer = keys.Required("buffer", Shapes.Integer(10, 1_000_000), "How many positions it holds: when it runs dry it must come to rest by itself.");
        var perMessage = keys.Default("per_message", Shapes.Integer(1, 1000), "20", "How many go into one line; at most half of the buffer.");
        var begin = keys.Required("begin", Line("hz"), "Empties the buffer and waits for positions; {hz}: their rate.");
        var positions = keys.Required("positions", Line("mm", "um"), "Positions from the middle, with a space between, as {mm} or {um}. The controller does not answer it.");
        var go = keys.Required("go", Line(), "Begins to move.");
        var end = keys.Required("end", Line(), "No more come: it comes to rest after the last.");
        var credit = keys.Required("credit", MessageShapes.Pattern(true, ["n"], ["g"]), "What it says as it moves on, unasked: groups n, how many positions it has played since the last such line; g, the acceleration that it measured at each of them, in g, with spaces between.");
        keys.Check((entries, reading) =>
        {
            if (entries.TryGet(positions, out string? text) && MessageShapes.Placeholders(text).Count() != 1) { reading.Refuse(entries.NodeOf(positions), entries.NodeOf(positions).Shown, "one of {mm}, {um}"); }
            if (entries.TryGet(buffer, out int room) && entries.TryGet(perMessage, out int many) && many * 2 > room) { reading.Refuse(entries.NodeOf(buffer), $"{room} positions, with {many} in a line", "room for two lines at least"); }
        });
        return (entries, _) => new(entries.Get(rate), entries.Get(buffer), entries.Get(perMessage), entries.Get(begin), entries.Get(positions), entries.Get(go), entries.Get(end), entries.Get(credit));
    });

    private static MapShape<Envelope> Envelope() => MapShape.Of<Envelope>("Envelope", "a map of limits", keys =>
    {
        var displacement = keys.Required("displacement", Shapes.Quantity(UnitKind.Length, "0 m", "1 m", aboveMin: true), "Either side of the middle: half of the stroke.");
        var velocity = keys.Required("velocity", Shapes.Quantity(UnitKind.Velocity, "0 m/s", "20 m/s", aboveMin: true), "Peak.");
        var acceleration = keys.Required("acceleration", Shapes.Quantity(UnitKind.Acceleration, "0 g", "200 g", aboveMin: true), "Peak.");
        var jerk = keys.Required("jerk", Shapes.Quantity(UnitKind.Jerk, "0 g/s", "1000000 g/s", aboveMin: true), "Peak, steps of the level included.");
        var ramp = keys.Required("ramp", Shapes.Quantity(UnitKind.Jerk, "0 g/s", "100 g/s", aboveMin: true), "How fast a level may rise and fall: softly, such as 0.5 g/s.");
        var from = keys.Required("from", Shapes.Hertz, "Lowest frequency.");
        var to = keys.Required("to", Shapes.Hertz, "Highest frequency.");
        var longest = keys.Required("longest", Shapes.Duration("1 s", "24 h"), "How long it may move without a rest.");
        var rest = keys.Required("rest", Shapes.Duration("0 s", "24 h"), "How long it must rest then.");
        keys.Check((entries, reading) =>
        {
            if (entries.TryGet(from, out double low) && entries.TryGet(to, out double high) && low > high) { reading.Refuse(entries.NodeOf(to), entries.NodeOf(to).Shown, "a frequency of at least from"); }
        });
        return (entries, _) => new()
        {
            Displacement = entries.Get(displacement), Velocity = entries.Get(velocity), PeakG = entries.Get(acceleration), Jerk = entries.Get(jerk), RampGPerS = entries.Get(ramp), FromHz = entries.Get(from), ToHz = entries.Get(to),
            Longest = entries.Get(longest), Rest = entries.Get(rest),
        };
    });
}
