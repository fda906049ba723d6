using HilRunner.Core.Signals.Filters;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Signals.Filters;

internal sealed class ButterworthTests
{
    private const int Samples = 400;

    /// <summary>Low edge or 0, high edge or 0, sample rate: bands narrow and wide, edges near 0 Hz and near half the rate.</summary>
    private static readonly (double LowHz, double HighHz, double RateHz)[] s_edges =
        [(0, 20, 100), (0, 0.5, 50), (0, 24.5, 50), (5, 0, 100), (0.25, 0, 50), (0.5, 20, 50), (4, 5, 100), (1, 390, 800), (10, 40, 100), (0.2, 24.8, 50)];

    /// <summary>scipy.signal.butter(output='sos'), then sosfilt from the steady state of the first sample, then sosfiltfilt.</summary>
    [Test]
    public void Agrees_with_the_reference_library()
    {
        var random = new Random(5);
        double[] x = [.. Enumerable.Range(0, Samples).Select(_ => 0.98 + random.NextDouble() - 0.5)];
        string cases = string.Join(", ", s_edges.SelectMany(e => Enumerable.Range(1, 10).Select(order => FormattableString.Invariant($"({e.LowHz}, {e.HighHz}, {e.RateHz}, {order})"))));
        double[] expected = Scipy.Run($"""
            y = []
            for low, high, rate, order in [{cases}]:
                kind = 'bandpass' if low and high else 'highpass' if low else 'lowpass'
                sos = s.butter(order, [low, high] if low and high else low or high, kind, fs=rate, output='sos')
                y.append(s.sosfilt(sos, x, zi=s.sosfilt_zi(sos) * x[0])[0])
                taps = 2 * len(sos) + 1 - min((sos[:, 2] == 0).sum(), (sos[:, 5] == 0).sum())
                y.append(s.sosfiltfilt(sos, x, padlen=min(3 * taps, len(x) - 1)))
            y = np.concatenate(y)
            """, x);
        int at = 0;
        double worst = 0;
        foreach (var (low, high, rate) in s_edges)
        {
            for (int order = 1; order <= 10; order++)
            {
                var sections = Design(low, high, rate, order);
                foreach (bool bothWays in new[] { false, true })
                {
                    double[] y = [.. x];
                    if (bothWays) { SecondOrderSections.FilterBothWays(sections, y); } else { SecondOrderSections.Filter(sections, y); }
                    double difference = y.Zip(expected[at..(at + Samples)], (a, b) => Math.Abs(a - b)).Max();
                    worst = Math.Max(worst, difference);
                    Assert.That(difference, Is.LessThan(1e-9), $"{low}–{high} Hz at {rate} Hz, order {order}, both ways {bothWays}");
                    at += Samples;
                }
            }
        }
        TestContext.Out.WriteLine($"{at / Samples} filtered signals, worst difference {worst:g3} g");
        Assert.That(at, Is.EqualTo(expected.Length));
    }

    /// <summary>The definition: half the power at the edges, whatever the order.</summary>
    [Test]
    public void Half_the_power_passes_at_the_edges([Range(1, 10)] int order)
    {
        foreach (var (low, high, rate) in s_edges)
        {
            var sections = Design(low, high, rate, order);
            foreach (double edge in new[] { low, high }.Where(e => e > 0)) { Assert.That(Power(sections, edge / rate), Is.EqualTo(0.5).Within(1e-7), $"{edge} of {low}–{high} at {rate}"); }
        }
    }

    /// <summary>Butterworth's magnitude law on the warped axis: 1/(1 + Ω^2n).</summary>
    [Test]
    public void A_low_pass_follows_the_law_of_Butterworth([Range(1, 10)] int order)
    {
        var sections = Butterworth.LowPass(order, 10, 100);
        foreach (double f in new[] { 0, 1, 5, 9, 12, 20, 30 })
        {
            double warped = Math.Tan(Math.PI * f / 100) / Math.Tan(Math.PI * 10 / 100), law = 1 / (1 + Math.Pow(warped, 2 * order));
            Assert.That(Power(sections, f / 100) / law, Is.EqualTo(1).Within(1e-9), $"{f} Hz");
        }
    }

    [Test]
    public void Gravity_passes_a_low_pass_without_a_start_and_nothing_of_it_a_high_pass()
    {
        double[] low = [.. Enumerable.Repeat(1.0, 200)], high = [.. low];
        SecondOrderSections.Filter(Butterworth.LowPass(4, 5, 100), low);
        SecondOrderSections.Filter(Butterworth.HighPass(4, 5, 100), high);
        Assert.That(low, Is.All.EqualTo(1).Within(1e-12));
        Assert.That(high, Is.All.EqualTo(0).Within(1e-12));
    }

    [Test]
    public void A_signal_of_one_sample_stays_itself_in_a_low_pass()
    {
        double[] one = [0.7];
        SecondOrderSections.FilterBothWays(Butterworth.LowPass(4, 5, 100), one);
        Assert.That(one[0], Is.EqualTo(0.7).Within(1e-12));
    }

    private static List<Section> Design(double low, double high, double rate, int order) => low == 0 ? Butterworth.LowPass(order, high, rate)
        : high == 0 ? Butterworth.HighPass(order, low, rate) : Butterworth.BandPass(order, low, high, rate);

    private static double Power(List<Section> sections, double turns) => sections.Aggregate(1.0, (p, s) => p * s.PowerGain(turns));
}
