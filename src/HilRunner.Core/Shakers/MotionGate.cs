using System.Globalization;

namespace HilRunner.Core.Shakers;

/// <summary>
/// What stands between every command and the table. It knows what was last let through and when, and lets nothing through that leaves the envelope: not in its level, not in how fast the level
/// changes, not in how long the table moves. Times are of any one clock, in seconds. Not safe for several threads.
/// </summary>
/// <param name="atS">Now; the table is at rest.</param>
/// <param name="before">What it did before; the default: nothing.</param>
public sealed class MotionGate(Envelope envelope, double atS, MovedBefore before = default)
{
    /// <summary>A long wait is no leave for a large step: what a level may change by is counted over this at most.</summary>
    public const double LongestStepS = 0.1;
    /// <summary>A controller takes a new level up within this, at least: the step's own jerk is counted over it.</summary>
    public const double TakeUpS = 0.02;

    private readonly DutyClock _duty = new(envelope, before, atS);
    private double _since = atS;

    /// <summary>What was last let through; at rest before.</summary>
    public SineMotion Now { get; private set; } = new(envelope.FromHz, 0);

    /// <summary>The largest change of level that would be let through after so long.</summary>
    public double MostStepG(double afterS) => envelope.RampGPerS * Math.Min(afterS, LongestStepS);

    /// <summary>Lets a command through, or says why not; then nothing has changed.</summary>
    /// <returns>Null: it may be sent, now and only now.</returns>
    public string? Refuses(SineMotion next, double atS)
    {
        if (envelope.Refuses(next) is { } outside) { return outside; }
        if (!double.IsFinite(atS) || atS < _since) { return "a time that runs backwards"; }
        if (next.Hz != Now.Hz && Now.PeakG != 0) { return Text($"from {Now.Hz:0.###} Hz to {next.Hz:0.###} Hz while it moves: only from rest"); }
        double step = Math.Abs(next.PeakG - Now.PeakG);
        if (!(step <= MostStepG(atS - _since))) { return Text($"from {Now.PeakG:0.####} g to {next.PeakG:0.####} g after {atS - _since:0.####} s, faster than {envelope.RampGPerS:0.###} g/s"); }
        if (!(Math.Max(next.Jerk, Now.Jerk) + step / TakeUpS <= envelope.Jerk)) { return Text($"a step of {step:0.####} g, with a jerk of more than {envelope.Jerk:0.#} g/s"); }
        if (Math.Max(next.PeakG, Now.PeakG) + TakeUpG(step, next.Hz) > envelope.PeakG) { return Text($"a step of {step:0.####} g, which adds {TakeUpG(step, next.Hz):0.####} g while it is taken up, to more than {envelope.PeakG:0.####} g"); }
        double taken = new SineMotion(next.Hz, step).Displacement / TakeUpS;
        if (Math.Max(next.Velocity, Now.Velocity) + taken > envelope.Velocity) { return Text($"a step of {step:0.####} g, which adds {taken:0.####} m/s while it is taken up, to more than {envelope.Velocity:0.####} m/s"); }
        double moved = _duty.MovedS(atS);
        if (next.PeakG > 0 && moved > envelope.Longest.TotalSeconds) { return Text($"moving for {moved:0.#} s, longer than {envelope.Longest.TotalSeconds:0.#} s: it must rest for {envelope.Rest.TotalSeconds:0.#} s"); }
        Pass(next, atS);
        return null;
    }

    /// <summary>It has moved for as long as it may, and must be stopped whether or not anything is sent.</summary>
    public bool IsOverdue(double atS) => Now.PeakG > 0 && _duty.MovedS(atS) > envelope.Longest.TotalSeconds;

    /// <summary>How long it has moved and rested.</summary>
    public MovedBefore Moved(double atS) => _duty.At(atS);

    /// <summary>It was stopped, whether it was moving or not.</summary>
    public void Stopped(double atS) => Pass(Now with { PeakG = 0 }, Math.Max(atS, _since));

    /// <summary>A stream of positions of this length may begin now, or why not.</summary>
    /// <returns>Null: it may, and it counts as motion from now on until <see cref="Stopped"/>.</returns>
    public string? RefusesStream(TimeSpan length, double atS)
    {
        if (!double.IsFinite(atS) || atS < _since) { return "a time that runs backwards"; }
        if (Now.PeakG != 0) { return "positions while it moves as a sine: only from rest"; }
        double moved = _duty.MovedS(atS) + length.TotalSeconds;
        if (!(moved <= envelope.Longest.TotalSeconds)) { return Text($"positions for {length.TotalSeconds:0.#} s, which is {moved:0.#} s of motion without a rest, longer than {envelope.Longest.TotalSeconds:0.#} s: it must rest for {envelope.Rest.TotalSeconds:0.#} s"); }
        _duty.Pass(moves: true, atS);
        _since = atS;
        return null;
    }

    /// <summary>
    /// What a growing amplitude adds to the acceleration: of x = X(t) sin ωt the second derivative has the term 2Ẋω cos ωt, and Ẋ is the step over the time it is taken up in.
    /// </summary>
    private static double TakeUpG(double stepG, double hz) => 2 * stepG / (TakeUpS * 2 * Math.PI * hz);

    private void Pass(SineMotion next, double atS)
    {
        _duty.Pass(next.PeakG > 0, atS);
        (Now, _since) = (next, atS);
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
