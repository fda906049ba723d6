using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Signals.Synthesis;

internal sealed class SweepTests
{
    /// <summary>scipy.signal.chirp, whose phase is the integral of the frequency too; −90° makes its cosine a sine.</summary>
    [TestCase(SweepLaw.Linear, "linear", 1, 45)]
    [TestCase(SweepLaw.Linear, "linear", 45, 1)]
    [TestCase(SweepLaw.Exponential, "logarithmic", 1, 45)]
    [TestCase(SweepLaw.Exponential, "logarithmic", 45, 1)]
    [TestCase(SweepLaw.Exponential, "logarithmic", 10, 10.001)]
    public void Agrees_with_the_reference_library(SweepLaw law, string method, double from, double to)
    {
        double[] y = Made(new Sweep(from, to, law, 0.3, new('z')), 100, TimeSpan.FromSeconds(60));
        double[] expected = Scipy.Evaluate(FormattableString.Invariant($"0.3 * s.chirp(np.arange(6000) / 100, {from}, 60, {to}, '{method}', phi=-90)"), [0]);
        double worst = y.Zip(expected, (a, b) => Math.Abs(a - b)).Max();
        TestContext.Out.WriteLine($"{law} {from}–{to} Hz: {worst:g3} g");
        // The reference library subtracts 1 from a power, which near a ratio of 1 costs it seven digits.
        Assert.That(worst, Is.LessThan(to / from < 1.01 && to > from ? 1e-8 : 1e-11));
    }

    /// <summary>One sweep at 1 octave a minute, as IEC 60068-2-6 runs it: octaves and stress cycles by the formula (f₂ − f₁)·60/ln 2.</summary>
    [TestCase(10, 55, 2.459, 3895.3)]
    [TestCase(10, 150, 3.907, 12118.6)]
    [TestCase(10, 500, 5.644, 42415.2)]
    public void An_octave_a_minute_gives_the_number_of_stress_cycles(double from, double to, double minutes, double cycles)
    {
        double octaves = Math.Log2(to / from);
        Assert.That(octaves, Is.EqualTo(minutes).Within(0.0005));
        double[] y = Made(new Sweep(from, to, SweepLaw.Exponential, 1, new('z')), 2000, TimeSpan.FromMinutes(octaves));
        int upward = Enumerable.Range(1, y.Length - 1).Count(i => y[i - 1] <= 0 && y[i] > 0);
        Assert.That(upward, Is.EqualTo(cycles).Within(1), "every cycle starts with one upward crossing of zero");
    }

    private static double[] Made(Sweep sweep, int hertz, TimeSpan length)
    {
        SampleRate rate = new(hertz * 1000L);
        var samples = new double[(int)rate.SamplesBefore(new(length.Ticks * 100))];
        sweep.Fill(samples, rate, length, default);
        return samples;
    }
}
