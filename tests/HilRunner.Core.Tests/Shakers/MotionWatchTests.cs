using HilRunner.Core.Shakers;

namespace HilRunner.Core.Tests.Shakers;

/// <summary>What a table measures against what is wanted of it, position by position; by hand-made motions at 1 kHz.</summary>
public class MotionWatchTests
{
    private const double Hz = 1000, FromHz = 2, ToHz = 100;

    private static double[] Tone(double hz, double g, double seconds, double delayS = 0) =>
        [.. Enumerable.Range(0, (int)(seconds * Hz)).Select(k => g * Math.Sin(2 * Math.PI * hz * (k / Hz - delayS)))];

    private static double[] Noise(int seed, double g, double seconds)
    {
        var random = new Random(seed);
        return [.. Enumerable.Range(0, (int)(seconds * Hz)).Select(_ => g * (random.NextDouble() * 2 - 1))];
    }

    private static double[] Sum(double[] a, double[] b) => [.. a.Zip(b, (x, y) => x + y)];

    /// <returns>Why it is stopped, and after how many seconds; null: it is not.</returns>
    private static (string Why, double AtS)? Judge(double[] wanted, double[] measured, double? learningG = null)
    {
        var watch = new MotionWatch(wanted, Hz, FromHz, ToHz, learningG);
        for (int k = 0; k < measured.Length; k++)
        {
            if (watch.Take([measured[k]]) is { } why) { return (why, (k + 1) / Hz); }
        }
        return null;
    }

    /// <summary>Gain, delay and noise as a table that is as it was described has them.</summary>
    [Test]
    public void AGoodTableIsNotStopped([Range(1, 20)] int seed)
    {
        var random = new Random(seed);
        double hz = 3 + 80 * random.NextDouble(), gain = 0.75 + 0.5 * random.NextDouble(), delay = 0.01 * random.NextDouble();
        double[] wanted = Sum(Tone(hz, 0.4, 6), Noise(seed, 0.1, 6));
        int late = (int)(delay * Hz);
        double[] measured = Sum([.. wanted.Select((_, k) => k < late ? 0 : gain * wanted[k - late])], Noise(seed + 100, 0.01, 6));
        Assert.That(Judge(wanted, measured), Is.Null, $"{hz:0.0} Hz, gain {gain:0.00}, {late} ms late");
    }

    /// <summary>Three times as much from the third second on, in one octave or in all of them.</summary>
    [TestCase(3, 3 + 1.0)]
    [TestCase(12, 3 + 0.25)]
    [TestCase(70, 3 + 0.1)]
    public void TooMuchIsSeenWithinTwoPeriodsOfItsBand(double hz, double byS)
    {
        double[] wanted = Tone(hz, 0.3, 6);
        double[] measured = [.. wanted.Select((g, k) => k < 3000 ? g : 3 * g)];
        var stopped = Judge(wanted, measured);
        Assert.That(stopped, Is.Not.Null);
        Assert.That(stopped!.Value.AtS, Is.InRange(3, byS));
        Assert.That(stopped.Value.Why, Does.Contain("wanted at most"));
    }

    /// <summary>A resonance beside a strong motion: all together is little more, its octave is many times as much.</summary>
    [Test]
    public void TooMuchOfOneOctaveIsSeenBesideMuchMotionInAnother()
    {
        double[] wanted = Tone(8, 0.8, 4), measured = Sum(wanted, Tone(60, 0.1, 4));
        Assert.That(Judge(wanted, measured)!.Value.Why, Does.Contain("between 32 Hz and 64 Hz"));
    }

    [TestCase("dead")]
    [TestCase("stuck")]
    [TestCase("saturated")]
    [TestCase("another motion")]
    public void TooLittleIsSeenWithinASecondOrThreePeriods(string fault)
    {
        double[] wanted = Tone(16, 0.4, 6), noise = Noise(5, 0.01, 6), other = Tone(17.5, 0.4, 6);
        double[] measured = [.. wanted.Select((g, k) => k < 3000 ? g : fault switch
        {
            "dead" => noise[k], "stuck" => wanted[3004], "saturated" => Math.Clamp(g, -0.05, 0.05), _ => other[k],
        })];
        var stopped = Judge(wanted, measured);
        Assert.That(stopped, Is.Not.Null);
        Assert.That(stopped!.Value.AtS, Is.InRange(3, 3 + 1.5), "three periods of 2 Hz");
        Assert.That(stopped.Value.Why, Does.Contain("does the sensor measure"));
    }

    /// <summary>At rest there is nothing that could be missing.</summary>
    [Test]
    public void WhatIsAtRestIsNotMissed() => Assert.That(Judge(new double[4000], Noise(3, 0.01, 4)), Is.Null);

    /// <summary>Until its response is known a resonance may make more of an octave than is wanted there, not than is ever wanted.</summary>
    [TestCase(0.1, false)]
    [TestCase(0.6, true)]
    public void WhileItIsLearntTheMostThatIsToComeIsTheLimit(double made, bool stops)
    {
        double[] wanted = Noise(1, 0.03, 4), measured = Sum(wanted, Tone(20, made, 4));
        Assert.That(Judge(wanted, measured, learningG: 0.15), stops ? Is.Not.Null : Is.Null);
        Assert.That(Judge(wanted, measured), Is.Not.Null, "known, it would be too much");
    }
}
