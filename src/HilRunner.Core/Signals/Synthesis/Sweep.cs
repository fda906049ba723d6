using HilRunner.Core.Numerics;
using HilRunner.Core.Time;

namespace HilRunner.Core.Signals.Synthesis;

public enum SweepLaw
{
    /// <summary>The same number of octaves a minute all along, as IEC 60068-2-6 sweeps.</summary>
    Exponential,
    /// <summary>The same number of hertz a second all along.</summary>
    Linear,
}

/// <summary>
/// A sine of constant acceleration whose frequency runs from one value to another over the signal's length T. Its phase is the
/// integral of the frequency, in cycles: f₁t + (f₂ − f₁)t²/2T, or f₁T/ln(f₂/f₁) · ((f₂/f₁)^(t/T) − 1); not f(t)·t, which would
/// sweep twice as fast.
/// </summary>
/// <param name="FromHz">Above 0, below half the device's input rate.</param>
/// <param name="ToHz">Likewise; may be lower. The same as <paramref name="FromHz"/> is a tone and refused.</param>
/// <param name="PeakG">Amplitude, zero to peak.</param>
public sealed record Sweep(double FromHz, double ToHz, SweepLaw Law, double PeakG, Direction Axis) : SynthSignal
{
    internal override Direction? Along => Axis;

    internal override void Check(SampleRate rate, TimeSpan length, StepFaults faults)
    {
        CheckPeak(PeakG, faults);
        CheckFrequency("a sweep from", FromHz, rate, faults);
        CheckFrequency("a sweep to", ToHz, rate, faults);
        if (FromHz == ToHz) { faults.Add(FormattableString.Invariant($"a sweep from {FromHz} Hz to the same"), "two frequencies", "use a tone"); }
    }

    internal override void Fill(Span<double> samples, SampleRate rate, TimeSpan length, SeedTree seed)
    {
        double lengthS = length.Ticks / 1e7;
        for (int n = 0; n < samples.Length; n++) { samples[n] = PeakG * PortableMath.SinCosTurns(Cycles(SecondsAt(n, rate), lengthS)).Sin; }
    }

    /// <summary>Cycles since the start at <paramref name="t"/> seconds into a sweep of <paramref name="lengthS"/> seconds.</summary>
    private double Cycles(double t, double lengthS)
    {
        if (Law == SweepLaw.Linear) { return FromHz * t + (ToHz - FromHz) * t * t / (2 * lengthS); }
        return FromHz * t * PortableMath.Growth(PortableMath.Log(ToHz / FromHz) * (t / lengthS));
    }
}
