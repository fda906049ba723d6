using HilRunner.Core.Numerics;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Time;

namespace HilRunner.Core.Tests.Signals.Synthesis;

internal sealed class ImpactTests
{
    /// <summary>Half-sine pulses of IEC 60068-2-27 and their change of velocity in m/s (the table is from memory; 2·peak·duration/π gives it).</summary>
    [TestCase(150, 11, 1.0)]
    [TestCase(300, 18, 3.4)]
    [TestCase(500, 11, 3.5)]
    [TestCase(500, 3, 0.95)]
    [TestCase(1000, 6, 3.8)]
    public void Keeps_the_change_of_velocity_at_any_rate(double peakMps2, int durationMs, double velocityMps)
    {
        double exact = 2 * peakMps2 * durationMs / 1000 / Math.PI;
        Assert.That(exact, Is.EqualTo(velocityMps).Within(0.06));
        foreach (int hertz in new[] { 10, 50, 100, 800, 10_000 })
        {
            double sum = Made(peakMps2 / Gravity.Standard, durationMs, hertz).Sum() * Gravity.Standard / hertz;
            Assert.That(sum, Is.EqualTo(exact).Within(1e-12 * exact + 1e-12), $"{hertz} Hz");
        }
    }

    [Test]
    public void Is_a_half_sine_where_it_is_sampled_finely_and_rest_after_it()
    {
        double[] y = Made(15, 11, 100_000);
        for (int n = 0; n < 1100; n++) { Assert.That(y[n], Is.EqualTo(15 * Math.Sin(Math.PI * (n + 0.5) / 1100)).Within(1e-4)); }
        Assert.That(y[1100..], Is.All.Zero);
    }

    /// <summary>h = g/2 · t²: half of 9.80665 m takes 1 s; the others by a calculator.</summary>
    [TestCase(4.903325, 1)]
    [TestCase(1, 0.4516008)]
    [TestCase(0.8, 0.4039240)]
    public void A_fall_lasts_as_long_as_its_height_says(double heightM, double seconds) =>
        Assert.That(FreeFall.TimeFor(heightM).TotalSeconds, Is.EqualTo(seconds).Within(1e-6));

    private static double[] Made(double peakG, int durationMs, int hertz)
    {
        var samples = new double[hertz];
        new Impact(TimeSpan.FromMilliseconds(durationMs), peakG, new('z')).Fill(samples, new SampleRate(hertz * 1000L), TimeSpan.FromSeconds(1), default);
        return samples;
    }
}
