using HilRunner.Core.Numerics;
using HilRunner.Core.Time;

namespace HilRunner.Core.Signals.Synthesis;

/// <summary>A sine: peak · sin(2π f t), t from the signal's start.</summary>
/// <param name="Hz">Above 0, below half the device's input rate.</param>
/// <param name="PeakG">Amplitude, zero to peak.</param>
public sealed record Tone(double Hz, double PeakG, Direction Axis) : SynthSignal
{
    internal override Direction? Along => Axis;

    internal override void Check(SampleRate rate, TimeSpan length, StepFaults faults)
    {
        CheckPeak(PeakG, faults);
        CheckFrequency("a tone of", Hz, rate, faults);
    }

    internal override void Fill(Span<double> samples, SampleRate rate, TimeSpan length, SeedTree seed)
    {
        for (int n = 0; n < samples.Length; n++) { samples[n] = PeakG * PortableMath.SinCosTurns(n * (Hz * 1000) / rate.MilliHertz).Sin; }
    }
}
