using HilRunner.Core.Documents;
using HilRunner.Core.Links;

namespace HilRunner.Core.Rigs;

/// <summary>Waiting for the device: after opening and after a message.</summary>
internal static class WaitShapes
{
    public const string WaitDoc = "How long to wait; with until: at most that long.";
    public const string UntilDoc = "Message that ends the wait early: booted, credit or sample, as described under says.";

    private static WordShape<LineState> Line => new(("leave", LineState.Leave), ("on", LineState.On), ("off", LineState.Off));
    public static WordShape<string> Until => new(("booted", "booted"), ("credit", "credit"), ("sample", "sample"));
    public static Shape<TimeSpan> Wait => Shapes.Duration("0 s", "10 min");

    public static Shape<OnOpen> OnOpen { get; } = MapShape.Of<OnOpen>("After opening", "a map with dtr, rts, wait, until", keys =>
    {
        var dtr = keys.Default("dtr", Line, "leave", "DTR after opening: leave, on or off. Many boards reset when it moves.");
        var rts = keys.Default("rts", Line, "leave", "RTS after opening: leave, on or off.");
        var wait = keys.Default("wait", Wait, "0 s", WaitDoc);
        var until = keys.Optional("until", Until, UntilDoc);
        keys.Check((entries, reading) => NeedWait(entries, until, wait, reading));
        return (entries, _) => new OnOpen { Dtr = entries.Get(dtr), Rts = entries.Get(rts), Wait = entries.Get(wait), Until = entries.Maybe(until) };
    });

    public static void NeedWait(Entries entries, Key<string> until, Key<TimeSpan> wait, Reading reading)
    {
        if (entries.Has(until) && !entries.Has(wait))
        {
            reading.Faults.Add(entries.NodeOf(until), $"until without wait in {entries.Node.Path}", "wait: how long at most, such as 2 s");
        }
    }
}
