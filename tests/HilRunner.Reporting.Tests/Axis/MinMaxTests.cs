using System.Buffers.Binary;
using CsCheck;
using HilRunner.Reporting.Axis;

namespace HilRunner.Reporting.Tests.Axis;

internal sealed class MinMaxTests
{
    /// <summary>The slow twin sorts samples into buckets one by one and asks LINQ for the least and the greatest.</summary>
    [Test]
    public void Keeps_the_least_and_the_greatest_sample_of_every_bucket() =>
        Gen.Select(Gen.Frequency((9, Gen.Double[-16, 16]), (1, Gen.Const(double.NaN))).Array[0, 300], Gen.Int[1, 60]).Sample((samples, buckets) =>
        {
            MinMax reduced = MinMax.Reduce(samples, buckets);
            var twin = samples.Select((v, i) => (Value: v, Bucket: i / reduced.SamplesPerBucket)).GroupBy(s => s.Bucket)
                .Select(g => g.Select(s => s.Value).Where(double.IsFinite).ToList())
                .Select(g => g.Count == 0 ? (double.NaN, double.NaN) : (g.Min(), g.Max())).ToList();
            Assert.That(reduced.Min.Length, Is.LessThanOrEqualTo(buckets));
            Assert.That(reduced.Min.Zip(reduced.Max), Is.EqualTo(twin));
        }, iter: 2_000);

    [Test]
    public void Leaves_a_signal_alone_that_fits()
    {
        double[] samples = [1, 2, 3];
        MinMax reduced = MinMax.Reduce(samples, 3);
        Assert.Multiple(() =>
        {
            Assert.That(reduced.SamplesPerBucket, Is.EqualTo(1));
            Assert.That(reduced.Min, Is.EqualTo(samples));
            Assert.That(reduced.Max, Is.EqualTo(samples));
        });
    }

    [Test]
    public void Packed_numbers_come_back_within_half_a_step_and_missing_ones_as_missing() =>
        Gen.Frequency((9, Gen.Double[-2000, 2000]), (1, Gen.OneOf(double.NaN, double.PositiveInfinity))).Array[0, 200].Sample(values =>
        {
            Packed packed = Packed.From(values);
            byte[] bytes = Convert.FromBase64String(packed.Base64);
            Assert.That(bytes, Has.Length.EqualTo(2 * values.Length));
            for (int i = 0; i < values.Length; i++)
            {
                short code = BinaryPrimitives.ReadInt16LittleEndian(bytes.AsSpan(2 * i));
                if (double.IsFinite(values[i])) { Assert.That(packed.Offset + packed.Step * code, Is.EqualTo(values[i]).Within(packed.Step * 0.5001)); }
                else { Assert.That(code, Is.EqualTo(short.MinValue)); }
            }
        }, iter: 2_000);
}
