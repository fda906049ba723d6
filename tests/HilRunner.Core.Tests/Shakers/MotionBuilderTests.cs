using CsCheck;
using HilRunner.Core.Shakers;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Shakers;

/// <summary>From a recording to where the table is told to be.</summary>
public class MotionBuilderTests
{
    private static readonly Envelope s_envelope = new() { Displacement = 0.01, Velocity = 0.5, PeakG = 2, Jerk = 1500, RampGPerS = 0.5, FromHz = 2, ToHz = 100, Longest = TimeSpan.FromMinutes(10), Rest = TimeSpan.FromSeconds(10) };
    private static readonly SampleRate s_rate = new(100_000), s_positions = new(1_000_000);

    /// <summary>Displacement of a sine, zero to peak: handbook values of sine motion, as X = a/(2πf)² gives them (10 Hz, 0.1 g: a quarter of the 1 mm that goes with 0.40257 g).</summary>
    [TestCase(10, 0.100643, 0.25)]
    [TestCase(5, 0.050321, 0.5)]
    [TestCase(20, 0.402570, 0.25)]
    [TestCase(30, 0.181163, 0.05)]
    public void ASineBecomesTheDisplacementOfTheHandbook(double hz, double g, double mm)
    {
        var built = Built(t => g * Math.Sin(2 * Math.PI * hz * t), 20);
        Assert.That(built.Outside, Is.Null);
        long[] middle = [.. built.Motion.Nm.Skip(built.Motion.Lead + 5000).Take(10_000)];
        Assert.That(middle.Max() / 1e6, Is.EqualTo(mm).Within(0.005 * mm));
        Assert.That(middle.Min() / 1e6, Is.EqualTo(-mm).Within(0.005 * mm));
        // Against the acceleration, and in its time: x = −a/(2πf)².
        for (int n = 500; n < 1500; n++) { Assert.That(built.ToldG[n], Is.EqualTo(built.WantedG[n]).Within(0.012 * g)); }
    }

    /// <summary>A bias of 1 mg is half a metre after ten seconds, and a tilt of 1° is 8.56 m (½bt²): neither moves the table.</summary>
    [TestCase(1.001)]
    [TestCase(1.0175)]
    public void ABiasOrATiltMovesNothing(double g)
    {
        var built = Built(_ => g, 60);
        Assert.That(built.Outside, Is.Null);
        Assert.That(built.Motion.Nm, Is.All.EqualTo(0));
    }

    /// <summary>The same double integration by numpy's FFT and the same edges.</summary>
    [Test]
    public void TheSameAsNumpyMakesOfIt()
    {
        var random = new Random(7);
        double[] g = [.. Enumerable.Range(0, 4096).Select(_ => 0.05 * (random.NextDouble() - 0.5))];
        var built = MotionBuilder.Build(g, s_positions, s_envelope, s_positions, MotionFit.None);
        double[] expected = Scipy.Run("""
            n = len(x); f = np.fft.rfftfreq(16 * n, 1e-3); a = np.zeros(16 * n); m = x - x.mean()
            a[4000:4000 + n + 4000] = np.concatenate([m[2000:0:-1], m, m[-2:-2002:-1]])
            lo = np.clip((f / 2 - 1) / .25, 0, 1); hi = np.clip((1 - f / 100) / .1, 0, 1)
            w = (.5 - .5 * np.cos(np.pi * lo)) * (.5 - .5 * np.cos(np.pi * hi))
            y = np.fft.irfft(np.fft.rfft(a) * np.where(w > 0, -9.80665 * w / np.maximum(2 * np.pi * f, 1e-9) ** 2, 0))[6000:6000 + n] * 1e9
            """, g);
        // The run-in is shorter or longer than here: away from the ends by the washout of 2 s there is nothing of that left.
        for (int k = 2000; k < 2096; k++) { Assert.That(built.Motion.Nm[built.Motion.Lead + k], Is.EqualTo(expected[k]).Within(2000), $"position {k}, in nm"); }
    }

    [Test]
    public void WhatIsBuiltIsInsideTheEnvelopeOrSaysWhyNot()
    {
        int inside = 0, outside = 0;
        Gen.Select(Gen.Double[-3, 1], Gen.Double[0.5, 60], Gen.Int[1, 5], Gen.ULong, Gen.Bool).Sample((level, hz, seconds, seed, scaled) =>
        {
            var random = new Random((int)(seed & 0x7fffffff));
            double peak = Math.Pow(10, level);
            double[] g = [.. Enumerable.Range(0, seconds * 100).Select(n => 1 + peak * (Math.Sin(2 * Math.PI * hz * n / 100) + random.NextDouble() - 0.5))];
            var built = MotionBuilder.Build(g, s_rate, s_envelope, s_positions, scaled ? MotionFit.Scale : MotionFit.None);
            if (built.Outside is not null)
            {
                Interlocked.Increment(ref outside);
                return !scaled && MotionBuilder.Room(built.Motion, s_envelope) < 1.05;
            }
            Interlocked.Increment(ref inside);
            var gate = new StreamGate(s_envelope, 1000);
            return built.Motion.Nm.All(nm => gate.Refuses(nm) is null) && gate.IsAtRest && built.Motion.Nm[0] == 0 && (scaled || built.Scale == 1);
        }, iter: 300);
        TestContext.Out.WriteLine($"{inside} inside, {outside} outside");
        Assert.That(inside, Is.GreaterThan(50));
        Assert.That(outside, Is.GreaterThan(20));
    }

    [Test]
    public void WhatDoesNotFitIsMadeSmallerOrLosesItsLowFrequenciesOnlyWhenAsked()
    {
        static double Motion(double t) => 0.5 * Math.Sin(2 * Math.PI * 3 * t) + 0.2 * Math.Sin(2 * Math.PI * 30 * t);
        var refused = Built(Motion, 10);
        Assert.That(refused.Outside, Does.Contain("mm, more than 10 mm either side"));
        var scaled = MotionBuilder.Build(Samples(Motion, 10), s_rate, s_envelope, s_positions, MotionFit.Scale);
        Assert.That((scaled.Outside, scaled.FromHz), Is.EqualTo(((string?)null, 2.0)));
        // 0.5 g at 3 Hz needs 13.8 mm, more where it is mirrored: 10 mm are at most 0.72 of it.
        Assert.That(scaled.Scale, Is.InRange(0.55, 0.72));
        var filtered = MotionBuilder.Build(Samples(Motion, 10), s_rate, s_envelope, s_positions, MotionFit.Filter);
        Assert.That((filtered.Outside, filtered.Scale), Is.EqualTo(((string?)null, 1.0)));
        var loss = MotionLoss.Of(filtered.WantedG, filtered.ToldG, s_rate, filtered.FromHz, filtered.ToHz);
        Assert.That(loss.Bands.Where(b => b.FromHz > 20).Sum(b => b.MadeG), Is.EqualTo(0.2 / Math.Sqrt(2)).Within(0.01), "what is fast stays");
    }

    /// <summary>Parseval: the bands together are the whole; the error is what is not in the band.</summary>
    [Test]
    public void WhatIsLostIsAddedUpByFrequencyAndByTime()
    {
        // The first half too slow for the table, the second not.
        var built = Built(t => t < 10 ? 0.1 * Math.Sin(2 * Math.PI * 0.5 * t) : 0.1 * Math.Sin(2 * Math.PI * 20 * t), 20);
        var loss = MotionLoss.Of(built.WantedG, built.ToldG, s_rate, built.FromHz, built.ToHz);
        Assert.Multiple(() =>
        {
            Assert.That(Math.Sqrt(loss.Bands.Sum(b => b.WantedG * b.WantedG)), Is.EqualTo(loss.WantedG).Within(1e-9));
            Assert.That(loss.WantedG, Is.EqualTo(0.1 / Math.Sqrt(2)).Within(1e-3));
            Assert.That(loss.Bands[0].WantedG, Is.EqualTo(0.05).Within(1e-3));
            Assert.That(loss.Bands[0].MadeG, Is.LessThan(1e-3));
            Assert.That(loss.ErrorG, Is.EqualTo(0.05).Within(2e-3));
            Assert.That(loss.Lost, Has.Count.EqualTo(1));
            Assert.That(loss.Lost[0].FromS, Is.Zero);
            Assert.That(loss.Lost[0].ToS, Is.EqualTo(10).Within(1));
        });
    }

    /// <summary>A table of second order is told its inverse, and makes what was wanted.</summary>
    [Test]
    public void TheInverseOfAKnownResponseGivesWhatWasWanted()
    {
        var g = Samples(t => 0.1 * Math.Sin(2 * Math.PI * 40 * t), 20);
        static System.Numerics.Complex Response(double hz)
        {
            double r = hz / 120;
            return 1 / new System.Numerics.Complex(1 - r * r, r);
        }
        var plain = MotionBuilder.Build(g, s_rate, s_envelope, s_positions, MotionFit.None);
        var inverse = MotionBuilder.Build(g, s_rate, s_envelope, s_positions, MotionFit.None, Response);
        double gain = inverse.Motion.Nm.Skip(8000).Take(4000).Max() / (double)plain.Motion.Nm.Skip(8000).Take(4000).Max();
        Assert.That(gain, Is.EqualTo(1 / Response(40).Magnitude).Within(0.01));
    }

    private static BuiltMotion Built(Func<double, double> g, double seconds) => MotionBuilder.Build(Samples(g, seconds), s_rate, s_envelope, s_positions, MotionFit.None);

    private static double[] Samples(Func<double, double> g, double seconds) => [.. Enumerable.Range(0, (int)(seconds * 100)).Select(n => g(n / 100.0))];
}
