using HilRunner.Core.Numerics;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Signals.Synthesis;

internal sealed class RandomVibrationTests
{
    private static readonly double s_threeDb = Math.Pow(10, 0.3);

    /// <summary>Profiles and their g rms, computed from the break points by the log-log formula; the documents print them rounded.</summary>
    private static IEnumerable<TestCaseData> Profiles()
    {
        static TestCaseData Case(string name, double rms, params (double Hz, double Density)[] points) =>
            new TestCaseData(rms, points.Select(p => new DensityPoint(p.Hz, p.Density)).ToArray()).SetArgDisplayNames(name);
        double octavesUp = Math.Log2(80 / 20.0), octavesDown = Math.Log2(2000 / 350.0);
        yield return Case("NAVMAT P-9492 (1979), prints 6.0", 6.064, (20, 0.04 / Math.Pow(s_threeDb, octavesUp)), (80, 0.04), (350, 0.04), (2000, 0.04 / Math.Pow(s_threeDb, octavesDown)));
        yield return Case("GSFC-STD-7000 qualification, 14.1", 14.136, (20, 0.026), (50, 0.16), (800, 0.16), (2000, 0.026));
        yield return Case("GSFC-STD-7000 acceptance, 10.0", 9.995, (20, 0.013), (50, 0.08), (800, 0.08), (2000, 0.013));
        yield return Case("MIL-STD-810H 514.8 annex E, 7.7", 7.694, (20, 0.04), (1000, 0.04), (2000, 0.01));
        yield return Case("MIL-STD-810 truck, vertical, 1.04", 1.043, (10, 0.015), (40, 0.015), (500, 0.00015));
        yield return Case("MIL-STD-810 truck, transverse, .204", 0.2035, (10, 0.00013), (20, 0.00065), (30, 0.00065), (78, 0.00002), (79, 0.00019), (120, 0.00019), (500, 0.00001));
        yield return Case("MIL-STD-810 truck, longitudinal, .740", 0.7402, (10, 0.0065), (20, 0.0065), (120, 0.0002), (121, 0.003), (200, 0.003), (240, 0.0015), (340, 0.00003), (500, 0.00015));
        yield return Case("flat", 4.4497, (20, 0.01), (2000, 0.01));
        yield return Case("slopes", 6.9203, (20, 0.01), (80, 0.05), (350, 0.05), (2000, 0.01));
        yield return Case("a slope of −1", Math.Sqrt(0.1 * Math.Log(10)), (10, 0.01), (100, 0.001));
    }

    [TestCaseSource(nameof(Profiles))]
    public void The_root_of_the_area_is_the_published_value(double rms, DensityPoint[] points) =>
        Assert.That(new SpectralDensity(points).Rms, Is.EqualTo(rms).Within(0.0006));

    /// <summary>IEC 60068-2-64 allows the density ±3 dB (from memory); the filter's own error, with no statistics in it, is far below.</summary>
    [TestCaseSource(nameof(Profiles))]
    public void The_expected_density_is_the_profile_but_for_the_rounded_edges(double rms, DensityPoint[] points)
    {
        var density = new SpectralDensity(points);
        double rate = 2.5 * density.HighestHz, worstDb = 0;
        double[] taps = ColouredNoise.Design(density, rate);
        double margin = density.FinestHz / 8;
        foreach (double hz in Enumerable.Range(0, 60).Select(i => density.LowestHz * Math.Pow(density.HighestHz / density.LowestHz, (i + 0.5) / 60)))
        {
            if (points.Any(p => Math.Abs(p.Hz - hz) < 2 * margin)) { continue; }
            worstDb = Math.Max(worstDb, Math.Abs(10 * Math.Log10(Expected(taps, hz, rate) / density.At(hz))));
        }
        TestContext.Out.WriteLine($"worst {worstDb:f3} dB of {rms:f4} g rms");
        Assert.That(worstDb, Is.LessThan(0.2));
        Assert.That(Expected(taps, density.LowestHz - 2 * margin, rate) / density.At(density.LowestHz), Is.LessThan(0.001), "below the lowest point");
        Assert.That(Expected(taps, density.HighestHz + 2 * margin, rate) / density.At(density.HighestHz), Is.LessThan(0.001), "above the highest point");
    }

    /// <summary>Welch's estimate by scipy over 900 averages, so that its standard deviation is about 4 %: every band within five of them.</summary>
    [Test]
    public void Welch_finds_the_profile_in_the_signal()
    {
        DensityPoint[] points = [new(5, 0.0005), new(15, 0.01), new(60, 0.01), new(90, 0.002)];
        var density = new SpectralDensity(points);
        var samples = new double[400_000];
        new RandomVibration(points, new('z')).Fill(samples, new(200_000), TimeSpan.FromSeconds(2000), new SeedTree(3));
        double[] welch = Scipy.Evaluate("np.concatenate(s.welch(x, 200, nperseg=800, detrend=False))", samples);
        int bins = welch.Length / 2, judged = 0;
        for (int k = 0; k < bins; k++)
        {
            double hz = welch[k], target = density.At(hz), found = welch[bins + k];
            if (points.Any(p => Math.Abs(p.Hz - hz) <= 1)) { continue; }
            if (target > 0) { Assert.That(found / target, Is.EqualTo(1).Within(0.2), $"{hz} Hz"); judged++; }
            else { Assert.That(found, Is.LessThan(1e-6), $"{hz} Hz"); }
        }
        Assert.That(judged, Is.GreaterThan(300));
        double rms = Math.Sqrt(samples.Average(v => v * v)), kurtosis = samples.Average(v => v * v * v * v) / Math.Pow(rms, 4);
        TestContext.Out.WriteLine($"rms {rms:f4} of {density.Rms:f4} g, kurtosis {kurtosis:f3}");
        // About 2·75 Hz·2000 s independent values.
        Assert.That(rms / density.Rms, Is.EqualTo(1).Within(5 / Math.Sqrt(2 * 300_000)));
        Assert.That(kurtosis, Is.EqualTo(3).Within(5 * Math.Sqrt(24 / 300_000.0) * 1.5), "Gaussian");
        Assert.That(samples.Average(), Is.EqualTo(0).Within(1e-4), "nothing at 0 Hz");
    }

    [Test]
    public void A_longer_signal_of_the_same_seed_begins_with_the_shorter_one()
    {
        double[] shorter = Flat(700, 1), longer = Flat(20_000, 1), other = Flat(700, 2);
        Assert.That(longer[..700], Is.EqualTo(shorter));
        Assert.That(other, Is.Not.EqualTo(shorter));
    }

    /// <summary>The transfer function by its definition, at one frequency.</summary>
    private static double Expected(double[] taps, double hz, double rate)
    {
        double re = taps.Select((tap, n) => tap * Math.Cos(2 * Math.PI * n * hz / rate)).Sum(), im = taps.Select((tap, n) => tap * Math.Sin(2 * Math.PI * n * hz / rate)).Sum();
        return (re * re + im * im) * 2 / rate;
    }

    private static double[] Flat(int samples, ulong seed)
    {
        var made = new double[samples];
        RandomVibration.Flat(5, 20, 0.1, new('z')).Fill(made, new(100_000), TimeSpan.FromSeconds(1000), new SeedTree(seed));
        return made;
    }
}
