using HilRunner.Core.Shakers;

namespace HilRunner.Engine.Shaking;

/// <summary>
/// What is wanted of a table that moves as sines, held against what it measures: a dead, stuck or saturated sensor shows that
/// it is told to move and little of it is seen. Times in s of any one clock. Not safe for several threads.
/// </summary>
/// <param name="settlesS">How long after a change what is measured is that of the change.</param>
/// <param name="oldS">How old a value may be.</param>
internal sealed class WantedLevels(double settlesS, double oldS)
{
    /// <summary>Of any sensor, and what settling adds, in g.</summary>
    public const double FloorG = 0.05;
    /// <summary>Lower levels are not told apart from noise.</summary>
    private const double LeastG = FirstLevel.LowestG * 0.9;

    private readonly Queue<(double AtS, double PeakG)> _changes = new();
    private readonly Queue<(double AtS, double MeasuredG)> _measured = new();
    private double _wantedG, _hz = 1;

    /// <summary>So much is not too much: what the table makes of a level is not known yet.</summary>
    public double HighestG { get; set; }

    /// <summary>How much a volt makes is not known: what is told is the most that it can be, and little is no fault.</summary>
    public bool IsGainUnknown { get; set; }

    public void Begin()
    {
        _changes.Clear();
        _measured.Clear();
        _wantedG = 0;
    }

    public void Told(double atS, SineMotion motion, double gain)
    {
        _changes.Enqueue((atS, _wantedG));
        (_wantedG, _hz) = (motion.PeakG * gain, motion.Hz);
        if (_wantedG == 0) { _measured.Clear(); }
    }

    /// <summary>How long too little lasts until it is seen: a second or three periods, and as old as a value may be.</summary>
    public double SeenS => Math.Max(1, 3 / _hz) + oldS;

    /// <param name="streamedG">
    /// The least of what positions asked for lately, in g; null: none are played, or each says what it made.
    /// </param>
    /// <returns>The most that was wanted lately, in g; and why the table must be stopped, as too little is seen.</returns>
    public (double LatelyG, string? Why) Judge(double atS, double measuredG, double? streamedG = null)
    {
        double seenS = SeenS, keptS = Math.Max(seenS, settlesS);
        // Of each change the level before it is kept.
        while (_changes.TryPeek(out var first) && first.AtS < atS - keptS) { _changes.Dequeue(); }
        while (_measured.TryPeek(out var oldest) && oldest.AtS < atS - seenS) { _measured.Dequeue(); }
        if (_wantedG > 0 || streamedG is not null) { _measured.Enqueue((atS, measuredG)); }
        double lately = Math.Max(HighestG, _changes.Where(c => c.AtS >= atS - settlesS).Select(c => c.PeakG).Append(_wantedG)
            .Max());
        double least = streamedG ?? _changes.Where(c => c.AtS >= atS - seenS).Select(c => c.PeakG).Append(_wantedG).Min();
        if (IsGainUnknown || least < LeastG || _measured.Count < 3
            || _measured.Peek().AtS > atS - 0.7 * seenS) { return (lately, null); }
        double mean = _measured.Average(m => m.MeasuredG);
        return mean >= MotionWatch.Share * least ? (lately, null) : (lately, FormattableString.Invariant(
            $"it measures {mean:0.###} g where at least {least:0.###} g were wanted for {seenS:0.#} s: does the sensor measure, and the table move?"));
    }
}
