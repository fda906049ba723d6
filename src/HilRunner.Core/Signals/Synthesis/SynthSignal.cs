using HilRunner.Core.Numerics;
using HilRunner.Core.Time;

namespace HilRunner.Core.Signals.Synthesis;

/// <summary>
/// A made acceleration. What an accelerometer reads is specific force, motion less gravity: a signal is what the motion adds to
/// the +1 g upwards of rest.
/// </summary>
public abstract record SynthSignal
{
    private protected SynthSignal() { }

    /// <summary>How much of the 1 g of rest the device feels meanwhile.</summary>
    internal virtual double GravityShare => 1;

    /// <summary>The direction it moves along; null where it has none.</summary>
    internal virtual Direction? Along => null;

    /// <summary>What cannot be made for this long at this rate.</summary>
    internal virtual void Check(SampleRate rate, TimeSpan length, StepFaults faults) { }

    /// <summary>Its value in g along <see cref="Along"/> at every sample from its start on.</summary>
    /// <param name="samples">To be filled; they may end before the signal does.</param>
    /// <param name="rate">Of the samples.</param>
    /// <param name="length">How long the whole signal lasts.</param>
    /// <param name="seed">For what is random.</param>
    internal virtual void Fill(Span<double> samples, SampleRate rate, TimeSpan length, SeedTree seed) => samples.Clear();

    /// <summary>The time of a sample in seconds.</summary>
    private protected static double SecondsAt(long sample, SampleRate rate) => sample * 1000.0 / rate.MilliHertz;

    private protected static void CheckPeak(double peakG, StepFaults faults)
    {
        if (!double.IsFinite(peakG)) { faults.Add("a synth peak that is no number", "an amplitude such as 0.3 g"); }
    }

    private protected static void CheckFrequency(string what, double hertz, SampleRate rate, StepFaults faults)
    {
        if (!(hertz > 0 && hertz < rate.Hertz / 2))
        {
            faults.Add(FormattableString.Invariant($"{what} {hertz} Hz"), $"above 0 and below half the device's input rate of {rate}");
        }
    }
}
