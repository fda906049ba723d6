using HilRunner.Core.Links;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Time;

namespace HilRunner.Core.Shakers;

/// <summary>What a table's controller says of itself.</summary>
public enum TableState
{
    /// <summary>At rest and not armed.</summary>
    Resting,
    /// <summary>At rest; it moves when it is told to.</summary>
    Armed,
    Moving,
    /// <summary>On its way to rest.</summary>
    Stopping,
    /// <summary>A guard is open, or somebody holds it: it must not move.</summary>
    Interlock,
    /// <summary>It ran into a limit switch.</summary>
    Limit,
    /// <summary>Too hot to go on.</summary>
    Hot,
    Fault,
}

/// <summary>The table that a rig's device is mounted on, and how its controller is spoken to: text lines, all of them as data.</summary>
public sealed record Shaker
{
    public required LinkSpec Link { get; init; }
    /// <summary>The device's axis that the table moves along.</summary>
    public required Direction Axis { get; init; }
    /// <summary>The device's direction that points up as it is mounted: it feels 1 g along it at rest.</summary>
    public required Direction Up { get; init; }
    public required ShakerHears Hears { get; init; }
    public required ShakerSays Says { get; init; }
    /// <summary>How long the controller moves on when it hears nothing: then it stops by itself. Null: it never does, and is not driven unattended.</summary>
    public required TimeSpan? Watchdog { get; init; }
    /// <summary>How long an answer may take.</summary>
    public required TimeSpan Answer { get; init; }
    /// <summary>How often its status is asked, which also tells it that the host is there. At most a third of the watchdog.</summary>
    public required TimeSpan Heartbeat { get; init; }
    /// <summary>What measures the table's motion, where the controller does not; null: the controller does.</summary>
    public ShakerReference? Reference { get; init; }
    /// <summary>The most that a volt can become, at the highest gain that the amplifier has; how much it is, the first motion measures. Null: commands are no volts.</summary>
    public double? MostGPerVolt { get; init; }
    public required Envelope Envelope { get; init; }
    /// <summary>How it is told positions; null: it knows sines alone.</summary>
    public ShakerStream? Stream { get; init; }
}

/// <summary>How a controller is told positions, many a second.</summary>
/// <param name="Rate">Positions a second.</param>
/// <param name="Buffer">How many it holds.</param>
/// <param name="PerMessage">How many go into one line.</param>
/// <param name="Begin">Empties its buffer and waits for positions.</param>
/// <param name="Positions">With {mm} or {um}: so many numbers with a space between. It is not answered.</param>
/// <param name="Go">Begins to move.</param>
/// <param name="End">No more come: it comes to rest after the last.</param>
/// <param name="Credit">What it says as it moves on: groups n, how many more it has played, and g, what it measured at each, in g.</param>
public sealed record ShakerStream(SampleRate Rate, int Buffer, int PerMessage, string Begin, string Positions, string Go, string End, string Credit);

/// <summary>A reference accelerometer that an instrument of its own reads.</summary>
/// <param name="Ask">Is answered by one value.</param>
/// <param name="Answer">Group value.</param>
/// <param name="GPerUnit">What a value of 1 is, in g, peak, of a sine.</param>
/// <param name="Within">How long an answer may take, and how old it may be.</param>
public sealed record ShakerReference(LinkSpec Link, string Ask, string Answer, double GPerUnit, TimeSpan Within);

/// <summary>What the controller hears: templates of lines.</summary>
/// <param name="Sine">With {hz}, and {mm}, {um} or {g}: amplitude, zero to peak; or {v}: volts, as <see cref="Shaker.MostGPerVolt"/> has them.</param>
/// <param name="Status">Is answered by <see cref="ShakerSays.Status"/>.</param>
public sealed record ShakerHears(string Identity, string Arm, string Sine, string Stop, string Status);

/// <summary>What it says: regular expressions.</summary>
/// <param name="Done">A command was taken.</param>
/// <param name="Refused">It was not; group why.</param>
/// <param name="Status">Groups state, g (measured acceleration, peak; absent where a reference measures it) and mm (displacement).</param>
/// <param name="States">The controller's word → what it means.</param>
public sealed record ShakerSays(string Identity, string Done, string Refused, string Status, IReadOnlyDictionary<string, TableState> States);
