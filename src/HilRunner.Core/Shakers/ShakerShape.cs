using HilRunner.Core.Documents;
using HilRunner.Core.Links;
using HilRunner.Core.Rigs;

namespace HilRunner.Core.Shakers;

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
        var watchdog = keys.Required("watchdog", Shapes.Duration("50 ms", "5 s"), "The controller stops by itself when it has heard nothing for this long. A controller that does not is not driven by this tool.");
        var heartbeat = keys.Default("heartbeat", Shapes.Duration("10 ms", "1 s"), "50 ms", "How often its status is asked while it is armed; at most a third of the watchdog.");
        var envelope = keys.Required("envelope", Envelope(), "What the table may be made to do; nothing outside it is sent, whatever any file says.");
        var stream = keys.Optional("stream", Stream(), "How the controller is told positions, for recordings on the table; absent: it knows sines alone.");
        keys.Check((entries, reading) =>
        {
            if (entries.TryGet(stream, out var told) && told is not null && entries.TryGet(envelope, out var limits) && told.Rate.Hertz < StreamGate.RatePerHz * limits.ToHz)
            {
                reading.Refuse(entries.NodeOf(stream), FormattableString.Invariant($"{told.Rate.Hertz:0.###} positions a second for motion up to {limits.ToHz:0.###} Hz"), $"at least {StreamGate.RatePerHz} for each hertz", "so that nothing happens between two positions");
            }
            if (entries.TryGet(watchdog, out var dog) && entries.TryGet(heartbeat, out var beat) && beat * 3 > dog)
            {
                reading.Refuse(entries.NodeOf(heartbeat), $"{beat.TotalMilliseconds:0} ms", $"at most a third of the watchdog of {dog.TotalMilliseconds:0} ms", "or one lost answer stops the table");
            }
            if (entries.TryGet(link, out var reached) && reached is BuiltinLinkSpec) { reading.Refuse(entries.NodeOf(link), "builtin", "a serial, pty, tcp or process link", "hil shaker runs a simulated table on a pty"); }
        });
        return (entries, _) => new Shaker
        {
            Link = entries.Get(link), Axis = entries.Get(axis), Up = entries.Get(up), Hears = entries.Get(hears), Says = entries.Get(says),
            Watchdog = entries.Get(watchdog), Heartbeat = entries.Get(heartbeat), Envelope = entries.Get(envelope), Stream = entries.Get(stream),
        };
    });

    private static MapShape<ShakerHears> Hears() => MapShape.Of<ShakerHears>("What the controller hears", "a map with identity, arm, sine, stop, status", keys =>
    {
        var identity = keys.Required("identity", Line(), "Asks who it is.");
        var arm = keys.Required("arm", Line(), "Makes it ready to move. Sent only after a person or an interlock has said yes.");
        var sine = keys.Required("sine", Line("hz", "mm", "um", "g"), "Moves as a sine: {hz}, and the amplitude, zero to peak, as {mm} or {um} of displacement or {g} of acceleration. Sent again to change the level.");
        var stop = keys.Required("stop", Line(), "Brings it to rest.");
        var status = keys.Required("status", Line(), "Asks how it is; it is also what tells the watchdog that the host is there.");
        keys.Check((entries, reading) =>
        {
            if (!entries.TryGet(sine, out string? text)) { return; }
            List<string> names = [.. MessageShapes.Placeholders(text)];
            if (!names.Contains("hz") || names.Count(n => n is "mm" or "um" or "g") != 1) { reading.Refuse(entries.NodeOf(sine), entries.NodeOf(sine).Shown, "{hz}, and one of {mm}, {um}, {g}"); }
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
        var status = keys.Required("status", MessageShapes.Pattern(true, ["state"], ["g"]), "Its status: groups state; g, the acceleration that it measures, peak, in g; mm, its place, if it says so.");
        var states = keys.Required("states", new NamedShape<TableState>("a map from the controller's word to a state", "WORD", @"^\S.{0,99}$", s_state).Select(named => (IReadOnlyDictionary<string, TableState>)named.Own.ToDictionary(o => o.Key.Text, o => o.Value, StringComparer.Ordinal)),
            "The controller's word → resting, armed, moving, stopping, interlock, limit, hot or fault. A word that is not listed stops the table.");
        return (entries, _) => new(entries.Get(identity), entries.Get(done), entries.Get(refused), entries.Get(status), entries.Get(states));
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
