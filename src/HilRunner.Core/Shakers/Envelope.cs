using System.Globalization;
using HilRunner.Core.Numerics;

namespace HilRunner.Core.Shakers;

/// <summary>What a table may be made to do. All are peaks that must not be passed, whatever a file says.</summary>
public sealed record Envelope
{
    /// <summary>In m, either side of the middle.</summary>
    public required double Displacement { get; init; }
    /// <summary>In m/s.</summary>
    public required double Velocity { get; init; }
    /// <summary>In g.</summary>
    public required double PeakG { get; init; }
    /// <summary>In g/s.</summary>
    public required double Jerk { get; init; }
    /// <summary>How fast a level may rise or fall, in g/s.</summary>
    public required double RampGPerS { get; init; }
    public required double FromHz { get; init; }
    public required double ToHz { get; init; }
    /// <summary>How long it may move without a rest.</summary>
    public required TimeSpan Longest { get; init; }
    /// <summary>How long it must rest after that.</summary>
    public required TimeSpan Rest { get; init; }

    /// <summary>Null: the motion is within all of it; else what it passes, and by how much. What is no number is outside.</summary>
    public string? Refuses(SineMotion motion)
    {
        if (!double.IsFinite(motion.Hz) || !double.IsFinite(motion.PeakG) || motion.PeakG < 0) { return "a motion that is no number"; }
        if (!(motion.Hz >= FromHz && motion.Hz <= ToHz)) { return Text($"{motion.Hz:0.###} Hz, outside {FromHz:0.###} Hz to {ToHz:0.###} Hz"); }
        if (!(motion.PeakG <= PeakG)) { return Text($"{motion.PeakG:0.####} g, more than {PeakG:0.####} g"); }
        if (!(motion.Displacement <= Displacement)) { return Text($"{motion.PeakG:0.####} g at {motion.Hz:0.###} Hz needs {motion.Displacement * 1000:0.###} mm either side, more than {Displacement * 1000:0.###} mm"); }
        if (!(motion.Velocity <= Velocity)) { return Text($"{motion.PeakG:0.####} g at {motion.Hz:0.###} Hz needs {motion.Velocity:0.####} m/s, more than {Velocity:0.####} m/s"); }
        return motion.Jerk <= Jerk ? null : Text($"{motion.PeakG:0.####} g at {motion.Hz:0.###} Hz has a jerk of {motion.Jerk:0.#} g/s, more than {Jerk:0.#} g/s");
    }

    /// <summary>The highest level at a frequency within it; 0 outside its band.</summary>
    public double MostG(double hz)
    {
        if (!(hz >= FromHz && hz <= ToHz)) { return 0; }
        double omega = 2 * Math.PI * hz;
        return Math.Min(Math.Min(PeakG, Jerk / omega),
            Math.Min(Displacement * omega * omega, Velocity * omega) / Gravity.Standard);
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
