using System.Numerics;

namespace HilRunner.Engine.Pacing;

/// <summary>
/// How late something was, counted in fixed buckets: 16 to an octave of nanoseconds, single nanoseconds below 32. Adding never
/// allocates and never loses a value; up to 68.7 s (2³⁶ ns) a quantile is at most 1/16 above the true one and never below it.
/// For one thread.
/// </summary>
public sealed class LatenessHistogram
{
    private const int BucketsPerOctaveLog2 = 4;
    private const int BucketsPerOctave = 1 << BucketsPerOctaveLog2;
    private const int OctaveLimit = 36;
    private readonly long[] _buckets = new long[(OctaveLimit - BucketsPerOctaveLog2 + 1) * BucketsPerOctave];

    /// <summary>Values added, those beyond the buckets among them.</summary>
    public long Count { get; private set; }

    /// <summary>Values of 2³⁶ ns and more: counted here, not told apart.</summary>
    public long Beyond { get; private set; }

    /// <summary>The greatest value added, exact; 0 while there is none.</summary>
    public long LargestNs { get; private set; }

    /// <param name="latenessNs">0 or more.</param>
    public void Add(long latenessNs)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(latenessNs);
        Count++;
        LargestNs = Math.Max(LargestNs, latenessNs);
        if (latenessNs >> OctaveLimit != 0) { Beyond++; }
        else { _buckets[BucketOf(latenessNs)]++; }
    }

    /// <summary>
    /// The smallest value with at least this share at or below it (type 1 of Hyndman and Fan 1996), as the upper edge of its
    /// bucket or, where that is less, the greatest value added. Null: nothing was added.
    /// </summary>
    /// <param name="share">Above 0, at most 1.</param>
    public long? Quantile(double share)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(share);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(share, 1);
        if (Count == 0) { return null; }
        // In decimal, where 0.999 of 1000 is 999.
        long rank = Math.Max(1, (long)Math.Ceiling((decimal)share * Count));
        long seen = 0;
        for (int bucket = 0; bucket < _buckets.Length; bucket++)
        {
            seen += _buckets[bucket];
            if (seen >= rank) { return Math.Min(UpperEdge(bucket), LargestNs); }
        }
        return LargestNs;
    }

    private static int BucketOf(long ns)
    {
        if (ns < BucketsPerOctave) { return (int)ns; }
        int shift = BitOperations.Log2((ulong)ns) - BucketsPerOctaveLog2;
        return shift * BucketsPerOctave + (int)(ns >> shift);
    }

    /// <summary>The greatest value of a bucket.</summary>
    private static long UpperEdge(int bucket)
    {
        if (bucket < BucketsPerOctave) { return bucket; }
        int shift = bucket / BucketsPerOctave - 1;
        return ((long)(bucket - shift * BucketsPerOctave + 1) << shift) - 1;
    }
}
