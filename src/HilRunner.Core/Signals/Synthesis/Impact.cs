using HilRunner.Core.Numerics;
using HilRunner.Core.Time;

namespace HilRunner.Core.Signals.Synthesis;

/// <summary>
/// One half-sine pulse, the usual shock of IEC 60068-2-27, from the signal's start on, and then rest. Each sample is the mean of the
/// pulse over the sample's period, as a sensor that integrates would give it: the change of velocity, 2·peak·duration/π, is kept
/// however few samples the pulse spans (sampled at points, a pulse of half a period could fall between two of them).
/// </summary>
/// <param name="Duration">Of the pulse; above 0, at most the signal's length.</param>
/// <param name="PeakG">Of the pulse itself; a sample that spans more than its top holds less.</param>
public sealed record Impact(TimeSpan Duration, double PeakG, Direction Axis) : SynthSignal
{
    internal override Direction? Along => Axis;

    internal override void Check(SampleRate rate, TimeSpan length, StepFaults faults)
    {
        CheckPeak(PeakG, faults);
        if (Duration <= TimeSpan.Zero || Duration > length) { faults.Add($"an impact of {Duration} within {length}", "a pulse above 0 s that ends within the step"); }
    }

    internal override void Fill(Span<double> samples, SampleRate rate, TimeSpan length, SeedTree seed)
    {
        samples.Clear();
        double pulseS = Duration.Ticks / 1e7, periodS = SecondsAt(1, rate);
        for (int n = 0; n < samples.Length && SecondsAt(n, rate) < pulseS; n++)
        {
            double from = SecondsAt(n, rate) / pulseS, to = Math.Min(1, SecondsAt(n + 1, rate) / pulseS);
            // ∫ sin(πu) du from a to b = 2/π · sin(π(a + b)/2) · sin(π(b − a)/2)
            double area = 2 / Math.PI * PortableMath.SinCosTurns((from + to) / 4).Sin * PortableMath.SinCosTurns((to - from) / 4).Sin;
            samples[n] = PeakG * area * pulseS / periodS;
        }
    }
}
