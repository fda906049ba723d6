using CsCheck;
using HilRunner.Core.Files;
using HilRunner.Core.Numerics;
using HilRunner.Inspection.Json;
using HilRunner.Testing;

namespace HilRunner.Inspection.Tests;

/// <summary>What lies on disk because it is long gives the same figures as what lies in memory.</summary>
public class LongRecordingTests
{
    [Test]
    public void Every_figure_and_picture_is_the_same([Values(false, true)] bool bad)
    {
        var good = GoodRecording.Build();
        if (bad)
        {
            for (int n = 500; n < 560; n++) { good.Channels[1][n] = good.Channels[1][500]; }
            for (int n = 2000; n < 2010; n++) { good.Channels[0][n] = 8; }
            for (int n = 3000; n < good.Times.Count; n++) { good.Times[n] += 0.4m; }
            good.Lines[700] = "x,1,2";
        }
        var inMemory = good.Read();
        var onDisk = inMemory with { Channels = [.. inMemory.Channels.Select(OnDisk)],
            TimesNs = inMemory.TimesNs is null ? null : OnDisk(inMemory.TimesNs) };
        var options = new InspectionOptions { DeviceRate = new(40_000), Severity = true,
            Model = Core.Models.MotionModel.Read(Path.Combine(TestPaths.Root, "scenarios", "parcel", "model.yaml")) };
        var first = Inspector.Inspect(inMemory, options);
        var second = Inspector.Inspect(onDisk, options);
        Assert.Multiple(() =>
        {
            Assert.That(onDisk.Channels.All(c => c.IsOnDisk));
            Assert.That(InspectionJson.ToText([second]), Is.EqualTo(InspectionJson.ToText([first])));
            Assert.That(
                second.Pictures.Channels.SelectMany(c => c.Most), Is.EqualTo(first.Pictures.Channels.SelectMany(c => c.Most)));
            Assert.That(second.Pictures.Rest?.Counts, Is.EqualTo(first.Pictures.Rest?.Counts));
            Assert.That(second.Pictures.Intervals?.Counts, Is.EqualTo(first.Pictures.Intervals?.Counts));
        });
    }

    [Test]
    public void The_median_of_a_series_on_disk_is_that_of_sorting() =>
    Gen.OneOf(Gen.Double[-3, 3], Gen.Double, Gen.Int[0, 4].Select(i => new[] { 0.0, 1, 1, double.MaxValue, -double.Epsilon }[i]))
        .Where(double.IsFinite).Array[1, 60].Sample(values =>
    {
        double[] sorted = [.. values.Order()];
        var series = OnDisk(new Series<double>(values));
        for (int i = 0; i < sorted.Length; i++) { Assert.That(Selection.At(series, i), Is.EqualTo(sorted[i])); }
        Assert.That(Selection.Median(series), Is.EqualTo(Selection.Median(values)));
    }, iter: 30);

    [Test]
    public void A_series_on_disk_holds_what_was_put_in_in_any_order_of_reading()
    {
        int[] values = [.. Enumerable.Range(0, 100_000).Select(i => i * 7)];
        var builder = new SeriesBuilder<int>(bytesInMemory: 1000);
        builder.AddAll(values.AsSpan(0, 33_333));
        foreach (int v in values.Skip(33_333)) { builder.Add(v); }
        var series = builder.Build();
        var random = new Random(2);
        Assert.That(series.IsOnDisk);
        Assert.That(series, Is.EqualTo(values));
        for (int n = 0; n < 2_000; n++)
        {
            int at = random.Next(values.Length), length = random.Next(Math.Min(50_000, values.Length - at));
            Assert.That(series[at], Is.EqualTo(values[at]));
            Assert.That(series.Read(at, length).SequenceEqual(values.AsSpan(at, length)));
        }
        Assert.That(() => series[values.Length], Throws.TypeOf<ArgumentOutOfRangeException>());
    }

    [Test]
    public void A_part_of_a_resampled_signal_is_that_part_bit_for_bit() =>
    Gen.Select(Gen.Int[1, 12], Gen.Int[1, 12], Gen.Int[1, 400], Gen.Int[0, 1000], Gen.Int[1, 60])
    .Sample((up, down, length, from, count) =>
    {
        if (System.Numerics.BigInteger.GreatestCommonDivisor(up, down) != 1) { return; }
        var random = new Random(length);
        double[] signal = [.. Enumerable.Range(0, length).Select(_ => random.NextDouble())];
        var resampler = new PolyphaseResampler(up, down);
        double[] whole = resampler.Apply(signal);
        from %= whole.Length;
        count = Math.Min(count, whole.Length - from);
        var (first, last) = resampler.InputOf(from, count, length);
        double[] part =
            resampler.Part(signal.AsSpan(first, last - first), first, new(signal[0], signal[^1], length), from, count);
        Assert.That(part, Is.EqualTo(whole[from..(from + count)]));
    }, iter: 500);

    private static Series<T> OnDisk<T>(Series<T> values) where T : unmanaged
    {
        var builder = new SeriesBuilder<T>(bytesInMemory: 0);
        foreach (T value in values) { builder.Add(value); }
        return builder.Build();
    }
}
