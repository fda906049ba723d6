using HilRunner.Core.Numerics;

namespace HilRunner.Core.Signals.Synthesis;

/// <summary>
/// Falling freely: an accelerometer that falls with its housing reads 0 on all axes. Without turning and without the drag of
/// the air. The landing is a signal of its own (<see cref="Impact"/>).
/// </summary>
public sealed record FreeFall : SynthSignal
{
    internal override double GravityShare => 0;

    /// <summary>How long a fall from rest over <paramref name="heightM"/> metres lasts: √(2h/g), to the nearest 100 ns.</summary>
    public static TimeSpan TimeFor(double heightM) =>
        TimeSpan.FromTicks((long)Math.Round(Math.Sqrt(2 * heightM / Gravity.Standard) * TimeSpan.TicksPerSecond));
}
