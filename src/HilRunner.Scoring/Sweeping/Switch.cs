namespace HilRunner.Scoring.Sweeping;

/// <summary>One change of class in one leg: between two levels that were played.</summary>
public readonly record struct LegSwitch(int Loop, bool Rising, double Low, double High)
{
    public double Middle => (Low + High) / 2;
}

/// <summary>
/// A boundary between two classes along what is swept. Up: where the upper class is entered on the way up; down: where it is left on the
/// way down. In the unit of what is swept.
/// </summary>
/// <param name="Below">The class at the lower levels.</param>
/// <param name="Above">The class at the higher ones.</param>
/// <param name="Legs">Where each leg changed; legs that did not reach it are not in it.</param>
/// <param name="LegsPlayed">Up and down together.</param>
public sealed record Switch(string Below, string Above, IReadOnlyList<LegSwitch> Legs, int LegsPlayed)
{
    public MeanInterval? Up { get; init; }
    public MeanInterval? Down { get; init; }
    /// <summary>Up less down, loop by loop. Its interval holds 0: none is shown.</summary>
    public MeanInterval? Width { get; init; }
    public ResponseCurve? CurveUp { get; init; }
    public ResponseCurve? CurveDown { get; init; }

    public bool IsReached => Legs.Count == LegsPlayed;

    /// <summary>A width that its interval tells from 0.</summary>
    public bool HasHysteresis => Width is { } w && (w.Interval.Low > 0 || w.Interval.High < 0);

    /// <summary>Up less down of every loop that reached it both ways.</summary>
    internal double[] Widths => [.. Legs.Where(l => l.Rising).Join(Legs.Where(l => !l.Rising), l => l.Loop, l => l.Loop, (up, down) => up.Middle - down.Middle)];

    internal static Switch Of(string below, string above, IReadOnlyList<LegSwitch> legs, int legsPlayed, double step, double confidence)
    {
        double[] up = [.. legs.Where(l => l.Rising).Select(l => l.Middle)], down = [.. legs.Where(l => !l.Rising).Select(l => l.Middle)];
        var found = new Switch(below, above, legs, legsPlayed);
        double[] widths = found.Widths;
        return found with
        {
            Up = up.Length == 0 ? null : MeanInterval.Of(up, step / 2, confidence),
            Down = down.Length == 0 ? null : MeanInterval.Of(down, step / 2, confidence),
            Width = widths.Length == 0 ? null : MeanInterval.Of(widths, step, confidence),
        };
    }
}
