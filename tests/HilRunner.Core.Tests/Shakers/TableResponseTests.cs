using HilRunner.Core.Shakers;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Shakers;

/// <summary>What a table makes of what it is told, against scipy.signal.</summary>
public class TableResponseTests
{
    private static readonly TableRecord s_record = new("z", "none", 2, 100, 1, 0.5, 1000, 0.001, 1, false, new(0, 0, 0, [], []), [], null, [], null);

    [Test]
    public void GainPhaseAndCoherenceAreThoseOfScipy()
    {
        var (told, measured) = Signals(9000, noise: 0.3);
        var response = TableResponse.Of(told, measured, 1000, 512)!;
        double[] expected = Scipy.Run("""
            a, b = x[:9000], x[9000:]
            f, p = s.csd(a, b, 1000, nperseg=512); _, d = s.welch(a, 1000, nperseg=512); _, e = s.welch(b, 1000, nperseg=512); _, c = s.coherence(a, b, 1000, nperseg=512)
            h = p / d
            y = np.concatenate([d, h.real, h.imag, c, f, e])
            """, [.. told, .. measured]);
        const int bins = 257;
        for (int k = 1; k < bins - 1; k++)
        {
            Assert.That(response.Told[k], Is.EqualTo(expected[k]).Within(1e-9 * expected[k]));
            Assert.That(response.Transfer[k].Real, Is.EqualTo(expected[bins + k]).Within(1e-8));
            Assert.That(response.Transfer[k].Imaginary, Is.EqualTo(expected[2 * bins + k]).Within(1e-8));
            Assert.That(response.Coherence[k], Is.EqualTo(expected[3 * bins + k]).Within(1e-9));
            Assert.That(response.Measured[k], Is.EqualTo(expected[5 * bins + k]).Within(1e-9 * expected[5 * bins + k]));
            Assert.That(k * response.StepHz, Is.EqualTo(expected[4 * bins + k]).Within(1e-9));
        }
    }

    /// <summary>Noise of a tenth that has nothing to do with what was told is a tenth of the whole.</summary>
    [Test]
    public void DistortionIsWhatDoesNotFollow()
    {
        var random = new Random(3);
        double[] told = [.. Enumerable.Range(0, 20_000).Select(_ => random.NextDouble() - 0.5)], noise = [.. told.Select(_ => 0.1 * (random.NextDouble() - 0.5))];
        double share = 0.1 / Math.Sqrt(1 + 0.01);
        Assert.That(TableResponse.Of(told, [.. told.Zip(noise, (a, b) => a + b)], 1000, 512)!.Distortion, Is.EqualTo(share).Within(0.01));
        Assert.That(TableResponse.Of(told, told, 1000, 512)!.Distortion, Is.LessThan(1e-6));
    }

    [Test]
    public void WhatIsNotKnownIsNotInverted()
    {
        var (told, measured) = Signals(9000, noise: 0);
        var known = TableResponse.Of(told, measured, 1000, 512)!.Known()!;
        // Half as strong and one position late.
        Assert.That(known(50).Magnitude, Is.EqualTo(0.5).Within(0.01));
        Assert.That(known(50).Phase, Is.EqualTo(-2 * Math.PI * 50 / 1000).Within(0.02));
        double[] noise = Signals(9000, noise: 1).Told;
        Assert.That(TableResponse.Of(noise, Signals(9000, noise: 0, seed: 99).Told, 1000, 512)!.Known(), Is.Null, "signals that have nothing to do with each other");
        Assert.That(TableResponse.Of(told.AsSpan(0, 600), measured.AsSpan(0, 600), 1000, 512), Is.Null, "too short");
    }

    [TestCase(1.0, 0, 0, TestName = "what was told is within the tolerance")]
    [TestCase(1.14, 0, 0, TestName = "a little less than the tolerance")]
    [TestCase(1.3, 1, 1, TestName = "a third more is outside in its band and all the time")]
    [TestCase(0.5, 1, 1, TestName = "half of it too")]
    public void TheToleranceIsJudgedByFrequencyAndByTime(double gain, int bands, int stretches)
    {
        double[] told = [.. Enumerable.Range(0, 10_000).Select(k => 0.3 * Math.Sin(2 * Math.PI * 12 * k / 1000.0))];
        var outcome = TableOutcome.Of(s_record, 0.5, told, [.. told.Select(g => gain * g)]);
        Assert.Multiple(() =>
        {
            Assert.That(outcome.OffBands, Has.Count.EqualTo(bands));
            Assert.That(outcome.Off, Has.Count.EqualTo(stretches));
            Assert.That(outcome.Faults, Has.Count.EqualTo(bands + stretches));
            if (stretches > 0) { Assert.That(outcome.Off[0], Is.EqualTo(new LostStretch(0.5, 10.5))); }
        });
    }

    [Test]
    public void ATableThatStoodStillForASecondSaysWhere()
    {
        double[] told = [.. Enumerable.Range(0, 10_000).Select(k => 0.3 * Math.Sin(2 * Math.PI * 12 * k / 1000.0))];
        var outcome = TableOutcome.Of(s_record, 0.5, told, [.. told.Select((g, k) => k is >= 4000 and < 5000 ? 0 : g)]);
        Assert.That(outcome.Off, Is.EqualTo(new[] { new LostStretch(4.5, 5.5) }));
        Assert.That(outcome.Faults, Has.Some.Contains("first from 4.5 s to 5.5 s"));
    }

    [Test]
    public void ATableThatDoesNotMeasureOrBeganLateIsNotTrusted()
    {
        Assert.That(TableOutcome.Of(s_record, 0.5, [], []).Faults, Has.One.Contains("did not say what it measured"));
        double[] told = new double[3000];
        Assert.That(TableOutcome.Of(s_record with { LateS = 0.03 }, 0.5, told, told).Faults, Has.One.Contains("began 30 ms later"));
        Assert.That(TableOutcome.Of(s_record with { Fault = "limit" }, 0.5, told, told).Faults, Is.EqualTo(new[] { "limit" }));
    }

    [Test]
    public void TheFilesOfARunComeBackAsTheyWere()
    {
        using var folder = TestPaths.NewFolder();
        var record = s_record with { Others = [new("ax", 0.1)], Trials = [new(1, "conveyed", "conveyed", null)], Loss = new(0.1, 0.2, 0.3, [new(0, 2, 0.1, 0)], [new(1, 2)]), Fault = "it \"broke\"" };
        record.Write(folder.File("table.json"));
        var back = TableRecord.Read(folder.File("table.json"));
        Assert.That(back.Loss.Bands, Is.EqualTo(record.Loss.Bands));
        Assert.That(back.Loss.Lost, Is.EqualTo(record.Loss.Lost));
        Assert.That(back.Trials, Is.EqualTo(record.Trials));
        Assert.That((back.Fault, back.LateS, back.Others[0]), Is.EqualTo((record.Fault, record.LateS, record.Others[0])));
        TableMotionFile.Write(folder.File("m.csv"), 0.5, 1000, [0.1, -0.2, 0.3], [0.11, -0.21]);
        var (begins, told, measured) = TableMotionFile.Read(folder.File("m.csv"));
        Assert.That(begins, Is.EqualTo(0.5));
        Assert.That(told, Is.EqualTo(new[] { 0.1, -0.2 }));
        Assert.That(measured, Is.EqualTo(new[] { 0.11, -0.21 }));
        File.AppendAllText(folder.File("m.csv"), "0.502,x\n");
        Assert.That(() => TableMotionFile.Read(folder.File("m.csv")), Throws.TypeOf<BadInputException>());
        File.WriteAllText(folder.File("table.json"), "{");
        Assert.That(() => TableRecord.Read(folder.File("table.json")), Throws.TypeOf<BadInputException>());
    }

    /// <summary>Told: even noise; measured: half of it one position later, and noise of its own.</summary>
    private static (double[] Told, double[] Measured) Signals(int count, double noise, int seed = 5)
    {
        var random = new Random(seed);
        double[] told = [.. Enumerable.Range(0, count).Select(_ => random.NextDouble() - 0.5)];
        double[] measured = [.. told.Select((_, k) => (k > 0 ? 0.5 * told[k - 1] : 0) + noise * (random.NextDouble() - 0.5))];
        return (told, measured);
    }
}
