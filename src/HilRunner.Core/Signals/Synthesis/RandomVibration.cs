using HilRunner.Core.Numerics;
using HilRunner.Core.Time;

namespace HilRunner.Core.Signals.Synthesis;

/// <summary>
/// Broadband random vibration: stationary, Gaussian, of a given acceleration spectral density, as IEC 60068-2-64 and its kin specify
/// it. Seeded by the run's seed and the step's place. Not clipped at any crest factor (the device's range is).
/// </summary>
/// <param name="Density">At least two break points, frequencies rising, the last one below half the device's input rate.</param>
public sealed record RandomVibration(IReadOnlyList<DensityPoint> Density, Direction Axis) : SynthSignal
{
    /// <summary>The same density from one frequency to another.</summary>
    /// <param name="rmsG">Root mean square over all of it.</param>
    public static RandomVibration Flat(double fromHz, double toHz, double rmsG, Direction axis)
    {
        double density = rmsG * rmsG / (toHz - fromHz);
        return new([new(fromHz, density), new(toHz, density)], axis);
    }

    internal override Direction? Along => Axis;

    internal override void Check(SampleRate rate, TimeSpan length, StepFaults faults)
    {
        if (Density.Count < 2 || Density.Zip(Density.Skip(1)).Any(p => !(p.Second.Hz > p.First.Hz))
            || Density.Any(p => !(p.Hz > 0 && p.G2PerHz > 0 && double.IsFinite(p.G2PerHz))))
        {
            faults.Add("a random signal whose break points cannot be used", "two or more, with rising frequencies above 0 Hz and densities above 0 g²/Hz");
            return;
        }
        CheckFrequency("a random signal up to", Density[^1].Hz, rate, faults);
        double finest = new SpectralDensity(Density).FinestHz, least = ColouredNoise.FinestHz(rate.Hertz);
        if (finest < least)
        {
            faults.Add(FormattableString.Invariant($"a random signal with a feature {finest:g3} Hz wide"),
                FormattableString.Invariant($"a lowest frequency and segments of at least {least:g3} Hz at {rate}"));
        }
    }

    internal override void Fill(Span<double> samples, SampleRate rate, TimeSpan length, SeedTree seed) =>
        new ColouredNoise(new(Density), rate.Hertz).Fill(samples, seed.Branch(Axis.Axis).Value);
}
