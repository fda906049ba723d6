using CsCheck;
using HilRunner.Core.Numerics;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Signals;

public class PolyphaseResamplerTests
{
    /// <summary>scipy.signal.resample_poly with its default filter, on signal less line.</summary>
    private const string Reference =
        "(lambda u, d, n: s.resample_poly(x - np.linspace(x[0], x[-1], n), u, d) + x[0] + (x[-1] - x[0]) / max(1, n - 1) * np.arange(-(-n * u // d)) * d / u)({0}, {1}, len(x))";

    [TestCase(20, 50, 301)]
    [TestCase(50, 100, 500)]
    [TestCase(800, 100, 4001)]
    [TestCase(50, 20, 777)]
    [TestCase(100, 50, 1000)]
    [TestCase(50, 400, 60)]
    [TestCase(50, 49.937, 3000)]
    [TestCase(31.25, 50, 400)]
    [TestCase(50, 100, 1)]
    [TestCase(100, 50, 2)]
    public void Agrees_with_the_reference_library(double fromHz, double toHz, int length)
    {
        var random = new Random(length);
        double[] x = new double[length];
        for (int i = 0; i < length; i++) { x[i] = 0.98 + 2 * (random.NextDouble() - 0.5); }
        var resampler = Between(fromHz, toHz);
        double[] expected = Scipy.Evaluate(string.Format(null, Reference, resampler.Up, resampler.Down), x);
        double[] actual = resampler.Apply(x);
        Assert.That(actual, Has.Length.EqualTo(expected.Length));
        double worst = actual.Zip(expected, (a, b) => Math.Abs(a - b)).Max();
        TestContext.Out.WriteLine($"{fromHz} → {toHz} Hz: {worst:g3}");
        Assert.That(worst, Is.LessThan(1e-12));
    }

    /// <summary>The slow twin: put the zeros in, convolve, keep every Down-th sample.</summary>
    [Test]
    public void Agrees_with_its_slow_twin()
    {
        var gen = Gen.Select(Gen.Int[1, 12], Gen.Int[1, 12], Gen.Double[-8.0, 8.0].Array[1, 60]);
        gen.Sample((up, down, x) =>
        {
            double[] expected = SlowTwin(x, up, down), actual = new PolyphaseResampler(up, down).Apply(x);
            Assert.That(actual, Has.Length.EqualTo(expected.Length));
            for (int i = 0; i < expected.Length; i++) { Assert.That(actual[i], Is.EqualTo(expected[i]).Within(1e-12)); }
        }, iter: 300);
    }

    [TestCase(100, 50)]
    [TestCase(800, 100)]
    [TestCase(50, 20)]
    public void A_tone_from_1_2_times_the_new_Nyquist_frequency_on_is_rejected_by_54_dB(double fromHz, double toHz)
    {
        var resampler = Between(fromHz, toHz);
        double worst = 0;
        for (double f = 0.6 * toHz; f <= 0.5 * fromHz; f += 0.01 * toHz)
        {
            double[] x = [.. Enumerable.Range(0, 4000).Select(n => Math.Sin(2 * Math.PI * f * n / fromHz + 0.3))];
            worst = Math.Max(worst, Inside(resampler.Apply(x), resampler).Max(Math.Abs));
        }
        double rejectionDb = -20 * Math.Log10(worst);
        TestContext.Out.WriteLine($"{fromHz} → {toHz} Hz: {rejectionDb:f1} dB");
        Assert.That(rejectionDb, Is.GreaterThan(54));
    }

    [TestCase(100, 50)]
    [TestCase(800, 100)]
    [TestCase(20, 50)]
    public void A_tone_up_to_0_8_times_Nyquist_keeps_amplitude_and_phase(double fromHz, double toHz)
    {
        var resampler = Between(fromHz, toHz);
        double f = 0.4 * Math.Min(fromHz, toHz), worst = 0;
        double[] y = resampler.Apply([.. Enumerable.Range(0, 4000).Select(n => Math.Sin(2 * Math.PI * f * n / fromHz))]);
        int margin = Margin(resampler);
        for (int m = margin; m < y.Length - margin; m++) { worst = Math.Max(worst, Math.Abs(y[m] - Math.Sin(2 * Math.PI * f * m / toHz))); }
        Assert.That(worst, Is.LessThan(0.005));
    }

    [Test]
    public void Gravity_stays_where_it_is_at_both_ends()
    {
        double[] turned = [.. Enumerable.Range(0, 400).Select(i => i < 200 ? 1.0 : -0.2)];
        foreach (var (from, to) in new[] { (50.0, 100.0), (100.0, 50.0), (20.0, 50.0), (800.0, 100.0) })
        {
            double[] y = Between(from, to).Apply(turned), rest = Between(from, to).Apply(Enumerable.Repeat(1.0, 333).ToArray());
            Assert.That(y[..5], Is.All.EqualTo(1.0).Within(0.004));
            Assert.That(y[^5..], Is.All.EqualTo(-0.2).Within(0.004));
            Assert.That(rest, Is.All.EqualTo(1.0), "a device at rest stays at rest, to the last bit");
        }
    }

    [Test]
    public void Refuses_ratios_beyond_its_limits()
    {
        Assert.That(PolyphaseResampler.Of((50_000_001, 50_000)), Is.Null, "more than 1000 to 1");
        Assert.That(PolyphaseResampler.Of((1_234_567, 9_999_999)), Is.Null, "numbers above a million");
        Assert.That(PolyphaseResampler.Ratio(new(49_937), new(50_000)), Is.EqualTo((50_000L, 49_937L)));
        Assert.That(PolyphaseResampler.Ratio(new(50_000), new(100_000), 1250), Is.EqualTo((5L, 2L)));
    }

    private static PolyphaseResampler Between(double fromHz, double toHz) =>
        PolyphaseResampler.Of(PolyphaseResampler.Ratio(new((long)Math.Round(fromHz * 1000)), new((long)Math.Round(toHz * 1000))))!;

    /// <summary>Output samples that the ends can reach: half the filter.</summary>
    private static int Margin(PolyphaseResampler r) => 10 * Math.Max(r.Up, r.Down) / r.Down + 1;

    private static double[] Inside(double[] y, PolyphaseResampler r) => y[Margin(r)..^Margin(r)];

    private static double[] SlowTwin(double[] x, int up, int down)
    {
        int n = x.Length, half = 10 * Math.Max(up, down);
        double[] h = PolyphaseResampler.LowPass(half, Math.Max(up, down), up);
        double Line(double i) => n == 1 ? x[0] : x[0] + (x[^1] - x[0]) * i / (n - 1);
        var dense = new double[n * up];
        for (int i = 0; i < n; i++) { dense[i * up] = x[i] - Line(i); }
        var y = new List<double>();
        for (int place = 0; place < dense.Length; place += down)
        {
            double sum = 0;
            for (int j = 0; j < h.Length; j++)
            {
                int from = place + half - j;
                if (from >= 0 && from < dense.Length) { sum += h[j] * dense[from]; }
            }
            y.Add(sum + Line((double)place / up));
        }
        return [.. y];
    }
}
