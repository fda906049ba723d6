using System.Runtime.InteropServices;

namespace HilRunner.Reporting.Axis;

/// <summary>
/// A signal reduced for drawing: the least and the greatest sample of each bucket, so that no peak is lost however far the view is
/// zoomed out. A bucket without a number is NaN.
/// </summary>
/// <param name="SamplesPerBucket">1: nothing was reduced, Min and Max are the same array.</param>
internal sealed record MinMax(int SamplesPerBucket, double[] Min, double[] Max)
{
    /// <summary>The smallest whole number of samples per bucket that needs no more than <paramref name="buckets"/> of them.</summary>
    public static MinMax Reduce(ReadOnlySpan<double> samples, int buckets)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(buckets, 1);
        int per = Math.Max(1, (samples.Length + buckets - 1) / buckets);
        if (per == 1)
        {
            double[] all = samples.ToArray();
            return new(1, all, all);
        }
        int count = (samples.Length + per - 1) / per;
        var min = new double[count];
        var max = new double[count];
        for (int b = 0; b < count; b++)
        {
            (min[b], max[b]) = Range(samples.Slice(b * per, Math.Min(per, samples.Length - b * per)));
        }
        return new(per, min, max);
    }

    /// <summary>Least and greatest finite value; NaN where there is none.</summary>
    public static (double Min, double Max) Range(ReadOnlySpan<double> samples)
    {
        double min = double.NaN, max = double.NaN;
        foreach (double v in samples)
        {
            if (!double.IsFinite(v)) { continue; }
            if (!(min <= v)) { min = v; }
            if (!(max >= v)) { max = v; }
        }
        return (min, max);
    }
}

/// <summary>Numbers as base64 of little-endian int16: value = Offset + Step × code; the code −32768 stands for "no number".</summary>
internal sealed record Packed(double Offset, double Step, string Base64)
{
    private const short NoNumber = short.MinValue;

    /// <summary>The rounding error is at most half a step: 1/65534 of the signal's range.</summary>
    public static Packed From(ReadOnlySpan<double> values)
    {
        var (min, max) = MinMax.Range(values);
        double offset = double.IsNaN(min) ? 0 : min + (max - min) / 2;
        double step = max > min ? (max - min) / 65_534 : 1;
        var codes = new short[values.Length];
        for (int i = 0; i < values.Length; i++)
        {
            codes[i] = double.IsFinite(values[i])
                ? (short)Math.Clamp(Math.Round((values[i] - offset) / step), -short.MaxValue, short.MaxValue)
                : NoNumber;
        }
        if (!BitConverter.IsLittleEndian)
        {
            for (int i = 0; i < codes.Length; i++) { codes[i] = System.Buffers.Binary.BinaryPrimitives.ReverseEndianness(codes[i]); }
        }
        return new(offset, step, Convert.ToBase64String(MemoryMarshal.AsBytes(codes.AsSpan())));
    }
}
