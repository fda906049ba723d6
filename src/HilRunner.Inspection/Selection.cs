using HilRunner.Core.Files;
using MathNet.Numerics.Statistics;

namespace HilRunner.Inspection;

/// <summary>
/// Order statistics of series that may be longer than memory: the same numbers that sorting gives. A series on disk is gone over
/// once for every sixteen bits of its numbers, of which each pass counts those that share the bits found so far.
/// </summary>
internal static class Selection
{
    private const int Bits = 16, Passes = 64 / Bits;

    /// <summary>NaN when there are none; of an even count the mean of the two in the middle.</summary>
    public static double Median(Series<double> values)
    {
        if (values.Length == 0) { return double.NaN; }
        if (!values.IsOnDisk) { return ArrayStatistics.MedianInplace(values[..]); }
        double upper = At(values, values.Length / 2);
        return values.Length % 2 == 1 ? upper : (At(values, values.Length / 2 - 1) + upper) / 2;
    }

    /// <summary>The value at a place, from 0 on, of the sorted series.</summary>
    public static double At(Series<double> values, int place)
    {
        ulong found = 0;
        var counts = new long[1 << Bits];
        long before = place;
        for (int pass = 0; pass < Passes; pass++)
        {
            int shift = 64 - (pass + 1) * Bits;
            Array.Clear(counts);
            foreach (double value in values)
            {
                ulong key = Key(value);
                // In the first pass nothing is found yet, and a shift by 64 would be none.
                if (pass == 0 || key >> (shift + Bits) == found) { counts[(key >> shift) & 0xFFFF]++; }
            }
            int digit = 0;
            while (before >= counts[digit]) { before -= counts[digit++]; }
            found = found << Bits | (uint)digit;
        }
        return Value(found);
    }

    /// <summary>
    /// Whole numbers in the order of the doubles (IEEE 754): the sign bit turned round, negative ones as their complement.
    /// </summary>
    private static ulong Key(double value)
    {
        ulong bits = BitConverter.DoubleToUInt64Bits(value);
        return bits >> 63 == 0 ? bits | 1UL << 63 : ~bits;
    }

    private static double Value(ulong key) => BitConverter.UInt64BitsToDouble(key >> 63 == 1 ? key & ~(1UL << 63) : ~key);
}
