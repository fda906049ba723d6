using CsCheck;
using HilRunner.Core.Recordings;
using HilRunner.Core.Signals.Filters;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Signals.Transforms;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Signals.Transforms;

/// <summary>Each transform on whole recordings.</summary>
internal sealed class TransformTests
{
    private static readonly string[] s_six = ["ax", "ay", "az", "gx", "gy", "gz"];

    private TemporaryFolder _folder = null!;

    [SetUp]
    public void SetUp() => _folder = TestPaths.NewFolder();

    [TearDown]
    public void TearDown() => _folder.Dispose();

    /// <summary>
    /// The physics: the velocity of a point is v = ω × r. In the mirror r and v are mirrored as vectors, and the turning rate has to be
    /// such that the equation still holds.
    /// </summary>
    [Test]
    public void A_mirrored_turn_moves_a_mirrored_point()
    {
        var vector = Gen.Double[-10.0, 10.0].Array[3];
        Gen.Select(vector, vector, Gen.OneOf<char[]>(['x'], ['y'], ['z'], ['x', 'y'], ['x', 'y', 'z'])).Sample((turn, radius, axes) =>
        {
            double[] velocity = Cross(turn, radius);
            double[] mirrored = Applied(Once([.. radius, .. turn]), new Mirror(axes)), mirroredVelocity = Applied(Once([.. velocity, .. turn]), new Mirror(axes));
            double[] expected = Cross(mirrored[3..], mirrored[..3]);
            for (int i = 0; i < 3; i++) { Assert.That(mirroredVelocity[i], Is.EqualTo(expected[i]).Within(1e-12)); }
        });
    }

    [Test]
    public void A_mirror_of_two_axes_is_half_a_turn_about_the_third_and_twice_is_nothing()
    {
        double[] motion = [0.1, -0.2, 1, 30, 40, -50];
        Assert.That(Applied(Once(motion), new Mirror(['x', 'y'])), Is.EqualTo(Applied(Once(motion), new Rotate([new('z', 180)]))));
        Assert.That(Applied(Once(motion), new Mirror(['y']), new Mirror(['y'])), Is.EqualTo(motion));
        Assert.That(Applied(Once(motion), new Mirror(['x'])), Is.EqualTo(new[] { -0.1, -0.2, 1, 30, -40, 50 }));
    }

    [Test]
    public void Scale_and_offset_act_on_the_channels_they_name()
    {
        double[] scaled = Applied(Once([1, 1, 1, 1, 1, 1]), new Scale(0.5, new Dictionary<string, double> { ["ay"] = 3, ["gz"] = -1 }));
        Assert.That(scaled, Is.EqualTo(new[] { 0.5, 1.5, 0.5, 0.5, 0.5, -0.5 }));
        Assert.That(Applied(Once([1, 1, 1, 1, 1, 1]), new Offset(new Dictionary<string, double> { ["ax"] = -0.25, ["gx"] = 2 })), Is.EqualTo(new[] { 0.75, 1, 1, 3, 1, 1 }));
    }

    [TestCase(500)]
    [TestCase(800)]
    [TestCase(1250)]
    [TestCase(2000)]
    public void A_stretch_divides_the_frequency_and_moves_the_labels(int permille)
    {
        double factor = permille / 1000.0;
        var recording = Made(100, 2000, (_, i) => 1 + 0.3 * Math.Sin(2 * Math.PI * 4 * i / 100)) with { Labels = [Label(2, 5), Label(5, 20)] };
        var stretched = RecordingTransform.Apply(recording, [new Retime(permille, null)], 1, "", out _);
        Assert.That(stretched.Rate, Is.EqualTo(recording.Rate));
        Assert.That(stretched.SampleCount, Is.EqualTo((int)(2000 * factor)));
        Assert.That(stretched.Labels, Is.EqualTo(new[] { Label((decimal)(2 * factor), (decimal)(5 * factor)), Label((decimal)(5 * factor), (decimal)(20 * factor)) }));
        double worst = Enumerable.Range(40, stretched.SampleCount - 80).Max(i => Math.Abs(stretched.Channels[0][i] - 1 - 0.3 * Math.Sin(2 * Math.PI * 4 / factor * i / 100)));
        Assert.That(worst, Is.LessThan(0.001));
    }

    [Test]
    public void A_stretch_and_a_new_rate_are_one_pass_of_the_reference_resampler()
    {
        var recording = Made(50, 701, (c, i) => Math.Sin(c + i * i * 0.37));
        var played = RecordingTransform.Apply(recording, [new Retime(800, new(100_000))], 1, "", out _);
        double[] x = recording.Channels[0];
        // 100 Hz · 0.8 : 50 Hz = 8 : 5
        double[] expected = Scipy.Evaluate("s.resample_poly(x - np.linspace(x[0], x[-1], len(x)), 8, 5) + x[0] + (x[-1] - x[0]) / (len(x) - 1) * np.arange(-(-len(x) * 8 // 5)) * 5 / 8", x);
        Assert.That(played.Channels[0].Zip(expected, (a, b) => Math.Abs(a - b)).Max(), Is.LessThan(1e-12));
        Assert.That(played.SampleCount, Is.EqualTo(expected.Length));
    }

    [Test]
    public void Labels_keep_their_order_and_their_share_whatever_the_stretch_and_the_rate() =>
        Gen.Select(Gen.Int[500, 2000], Gen.Int[1, 400], Gen.OneOf(20, 50, 100, 800), Gen.OneOf(20, 50, 100, 800), Gen.Int[1, 3_000_000].Array[2, 9]).Sample((permille, samples, from, to, gaps) =>
        {
            var recording = Made(from, samples, (_, i) => i * 0.001);
            long at = 0;
            var labels = gaps.Select((gap, i) => new LabelInterval(new(at), new(at += gap * 1000L), $"class {i % 2}")).Where(l => l.Start < recording.Duration).ToList();
            var moved = RecordingTransform.Apply(recording with { Labels = labels }, [new Retime(permille, new(to * 1000L))], 1, "", out _);
            Assert.That(moved.Labels, Has.Count.EqualTo(labels.Count));
            double sampleNs = 1e9 / to;
            foreach (var (before, after) in labels.Zip(moved.Labels))
            {
                Assert.That(after.Class, Is.EqualTo(before.Class));
                Assert.That(after.Start.Ns, Is.EqualTo(before.Start.Ns * permille / 1000.0).Within(1));
                Assert.That(after.End.Ns, Is.InRange(Math.Min(before.End.Ns, recording.Duration.Ns) * permille / 1000.0 - 1, Math.Min(before.End.Ns, recording.Duration.Ns) * permille / 1000.0 + sampleNs + 1));
                Assert.That(after.End, Is.LessThanOrEqualTo(moved.Duration));
            }
        }, iter: 300);

    [Test]
    public void Dropouts_lose_whole_gaps_of_all_channels_and_come_nearest_to_their_share() =>
        Gen.Select(Gen.Int[20, 3000], Gen.Double[0.01, 0.45], Gen.Int[1, 9], Gen.OneOf(DropoutFill.Hold, DropoutFill.Zero), Gen.ULong).Sample((samples, share, length, fill, seed) =>
        {
            int gaps = (int)Math.Round(share * samples / length);
            if (gaps == 0) { return; }
            // Every good value is its own, and none is 0.
            var recording = Made(50, samples, (c, i) => (c + 1) * 10_000 + i);
            var dropouts = new Dropouts(share, TimeSpan.FromMilliseconds(20 * length), fill);
            if (gaps * (length + 1) > samples) { Assert.That(() => RecordingTransform.Apply(recording, [dropouts], seed, "", out _), Throws.TypeOf<BadInputException>()); return; }
            double[][] lossy = [.. RecordingTransform.Apply(recording, [dropouts], seed, "", out _).Channels];
            var runs = new List<int>();
            for (int i = 0; i < samples; i++)
            {
                bool lost = lossy[0][i] != recording.Channels[0][i];
                for (int c = 0; c < 6; c++)
                {
                    double good = recording.Channels[c][i];
                    double expected = !lost ? good : fill == DropoutFill.Zero ? 0 : lossy[c][i - 1];
                    Assert.That(lossy[c][i], Is.EqualTo(expected));
                }
                if (!lost) { continue; }
                if (i > 0 && lossy[0][i - 1] != recording.Channels[0][i - 1]) { runs[^1]++; } else { runs.Add(1); }
            }
            Assert.That(runs, Is.EqualTo(Enumerable.Repeat(length, gaps)));
            Assert.That(lossy[0][0], Is.EqualTo(recording.Channels[0][0]), "the first sample is good");
        }, iter: 300);

    [Test]
    public void Dropouts_fall_anywhere_alike()
    {
        // One gap of two samples in twelve: ten places, each drawn about 1000 times of 10 000 (5 standard deviations of the binomial).
        var recording = Made(50, 12, (_, i) => i + 1);
        var drawn = new int[12];
        for (ulong seed = 0; seed < 10_000; seed++)
        {
            double[] x = RecordingTransform.Apply(recording, [new Dropouts(0.17, TimeSpan.FromMilliseconds(40), DropoutFill.Zero)], seed, "", out _).Channels[0];
            drawn[Array.IndexOf(x, 0)]++;
        }
        Assert.That(drawn[0], Is.Zero);
        Assert.That(drawn[1..11], Is.All.EqualTo(1000).Within(5 * 30));
    }

    [Test]
    public void A_filter_acts_on_every_channel_at_the_rate_it_finds()
    {
        var recording = Made(100, 300, (c, i) => Math.Sin(c + i * 0.37) + c);
        var filtered = RecordingTransform.Apply(recording, [new Retime(1000, new(50_000)), new Filter(0.5, 20, 3, false)], 1, "", out _);
        var resampled = RecordingTransform.Apply(recording, [new Retime(1000, new(50_000))], 1, "", out _);
        for (int c = 0; c < 6; c++)
        {
            double[] expected = [.. resampled.Channels[c]];
            SecondOrderSections.Filter(Butterworth.BandPass(3, 0.5, 20, 50), expected);
            Assert.That(filtered.Channels[c], Is.EqualTo(expected));
        }
    }

    [Test]
    public void A_mixed_recording_brings_its_motion_and_not_its_gravity()
    {
        RecordingFile.Write(_folder.File("lorry.csv"), Made(50, 100, (c, i) => (c == 2 ? 1 : 0) + (i % 2 == 0 ? 0.25 : -0.25)));
        var still = Made(50, 200, (c, _) => c == 1 ? 1 : 0);
        var shaken = RecordingTransform.Apply(still, [new Mix(new MixedRecording("lorry.csv", null)) { Gain = 2, At = Seconds(1) }], 1, _folder.Path, out var mixed);
        Assert.That(shaken.Channels[1][..50], Is.All.EqualTo(1));
        Assert.That(shaken.Channels[1][50..54], Is.EqualTo(new[] { 1.5, 0.5, 1.5, 0.5 }).Within(1e-12));
        Assert.That(shaken.Channels[2][50..54], Is.EqualTo(new[] { 0.5, -0.5, 0.5, -0.5 }).Within(1e-12), "1 g on z stayed out");
        Assert.That(shaken.Channels[1][150..], Is.All.EqualTo(1), "it ends where the other one ends");
        Assert.That(mixed.Select(m => m.Path), Is.EqualTo(new[] { "lorry.csv" }));
        Assert.That(still.Channels[1], Is.All.EqualTo(1), "the recording itself is left alone");
    }

    [Test]
    public void A_mixed_signal_is_the_same_as_the_made_step_less_rest()
    {
        var still = Made(100, 300, (_, _) => 0);
        var mixed = RecordingTransform.Apply(still, [new Mix(new MixedSignal(new Tone(5, 0.3, new('x', true)), TimeSpan.FromSeconds(2))) { At = Seconds(0.5m), Gain = 0.5 }], 1, "", out _);
        for (int i = 0; i < 300; i++)
        {
            double expected = i is >= 50 and < 250 ? -0.15 * Math.Sin(2 * Math.PI * 5 * (i - 50) / 100) : 0;
            Assert.That(mixed.Channels[0][i], Is.EqualTo(expected).Within(1e-14));
        }
        Assert.That(mixed.Channels.Skip(1).SelectMany(c => c), Is.All.Zero);
    }

    [Test]
    public void Transforms_that_draw_have_streams_of_their_own()
    {
        var still = Made(100, 500, (_, _) => 0);
        MotionTransform noise = new Noise(0.1);
        double[] once = RecordingTransform.Apply(still, [noise], 4, "", out _).Channels[0];
        double[] twice = RecordingTransform.Apply(still, [noise, noise], 4, "", out _).Channels[0];
        Assert.That(RecordingTransform.Apply(still, [noise], 4, "", out _).Channels[0], Is.EqualTo(once));
        Assert.That(RecordingTransform.Apply(still, [noise], 5, "", out _).Channels[0], Is.Not.EqualTo(once));
        double[] second = [.. twice.Zip(once, (b, a) => b - a)];
        Assert.That(second.Zip(once, (a, b) => a * b).Average(), Is.EqualTo(0).Within(5 * 0.01 / Math.Sqrt(500)), "not the same noise twice");
    }

    [Test]
    public void Every_fault_of_every_transform_is_named_before_anything_is_done()
    {
        RecordingFile.Write(_folder.File("two.csv"), Made(50, 10, (_, _) => 0) with { ChannelNames = ["ax", "ay"], Channels = [new double[10], new double[10]] });
        var recording = Made(50, 100, (_, _) => 0) with { ChannelNames = ["ax", "ay"], Channels = [new double[100], new double[100]] };
        var none = new Dictionary<string, double>();
        var faults = Assert.Throws<BadInputException>(() => RecordingTransform.Apply(recording,
            [
                new Cut(Seconds(3), null), new Mirror(['x', 'x']), new Rotate([new('z', 90)]), new Scale(double.NaN, none), new Offset(new Dictionary<string, double> { ["gz"] = 1 }),
                new Retime(400, null), new Filter(30, null, 11, false), new Filter(20, 10, 4, false), new Noise(-1), new Dropouts(0.001, TimeSpan.FromSeconds(1), DropoutFill.Hold),
                new Dropouts(2, TimeSpan.Zero, DropoutFill.Hold), new Mix(new MixedRecording("none.csv", null)), new Mix(new MixedSignal(new Rest(), TimeSpan.FromSeconds(1))) { At = Seconds(9) },
                new Mix(new MixedSignal(new Impact(TimeSpan.FromSeconds(2), 1, new('q')), TimeSpan.FromSeconds(1))) { Gain = double.NaN },
                new Mix(new MixedSignal(new Sweep(1, 30, SweepLaw.Linear, 1, new('x')), TimeSpan.FromSeconds(1))),
                new Mix(new MixedSignal(new RandomVibration([new(5, 0.1), new(4, 0.1)], new('x')), TimeSpan.FromSeconds(1))),
                new Mix(new MixedSignal(new RandomVibration([new(0.001, 0.1), new(4, 0.1)], new('x')), TimeSpan.FromSeconds(1))),
            ], 1, _folder.Path, out _))!.Faults;
        Assert.That(faults.Select(f => f.ToString().Replace(_folder.Path + Path.DirectorySeparatorChar, "")), Is.EqualTo(new[]
        {
            "transform 1 of r: from 3 s; expected a time from 0 on in the recording: r lasts 2 s",
            "transform 2 of r: a mirror of x, x; expected axes among x, y and z, each once",
            "transform 3 of r: r without az (it has ax, ay); expected every channel that is named, and all three axes where they are rotated",
            "transform 4 of r: a scale that is no number; expected a factor such as 0.8",
            "transform 5 of r: r without gz (it has ax, ay); expected every channel that is named, and all three axes where they are rotated",
            "transform 6 of r: a stretch of 0.4; expected a factor from 0.5 to 2",
            "transform 7 of r: a filter at 30 Hz; expected above 0 and below half the rate of 50 Hz",
            "transform 7 of r: a filter of order 11; expected an order from 1 to 10",
            "transform 8 of r: a band from 20 to 10 Hz; expected a lower edge below the upper one",
            "transform 9 of r: a noise that is no amount; expected a standard deviation such as 5 mg",
            "transform 10 of r: dropouts of 0.1 % of 1 samples in gaps of 50: not one gap; expected a share of at least half a gap; shorten the gaps, raise the share or play more",
            "transform 11 of r: dropouts of 200 % of the time; expected a share above 0 and below 1",
            "transform 11 of r: dropouts of 00:00:00; expected a length above 0 s",
            "none.csv: no such file; expected a recording; check the path",
            "transform 13 of r: a mix at 9 s; expected a time from 0 on in the 0.02 s of r",
            "transform 13 of r: a mix with a signal that does not move; expected a tone, a sweep, a random signal or an impact",
            "transform 14 of r: a gain that is no number; expected a factor such as 0.5",
            "transform 14 of r: mix axis q; expected x, y or z",
            "transform 14 of r: an impact of 00:00:02 within 00:00:01; expected a pulse above 0 s that ends within the step",
            "transform 15 of r: a sweep to 30 Hz; expected above 0 and below half the device's input rate of 50 Hz",
            "transform 16 of r: a random signal whose break points cannot be used; expected two or more, with rising frequencies above 0 Hz and densities above 0 g²/Hz",
            "transform 17 of r: a random signal with a feature 0.001 Hz wide; expected a lowest frequency and segments of at least 0.0061 Hz at 50 Hz",
        }));
    }

    private static double[] Cross(double[] a, double[] b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];

    private static Recording Once(double[] values) => Made(50, 1, (c, _) => values[c]);

    private static double[] Applied(Recording recording, params MotionTransform[] transforms) =>
        [.. RecordingTransform.Apply(recording, transforms, 1, "", out _).Channels.Select(c => c[0])];

    private static Recording Made(int hertz, int samples, Func<int, int, double> value) => new()
    {
        Name = "r", Rate = new(hertz * 1000L), ChannelNames = s_six,
        Channels = [.. s_six.Select((_, c) => Enumerable.Range(0, samples).Select(i => value(c, i)).ToArray())],
    };

    private static StimulusTime Seconds(decimal seconds) => StimulusTime.FromSeconds(seconds);

    private static LabelInterval Label(decimal from, decimal to) => new(Seconds(from), Seconds(to), "carried");
}
