using HilRunner.Core.Rigs;

namespace HilRunner.Core.Signals;

/// <summary>Physical values to device counts, as an ideal converter does it.</summary>
internal static class Quantiser
{
    /// <summary>
    /// Counts = value ÷ value of one count, to the nearest whole number, a half to the even one (IEEE 754
    /// roundTiesToEven: no bias); cut off at ±<see cref="InputChannel.MaxCount"/>.
    /// </summary>
    /// <returns>How many values were cut off.</returns>
    public static long Quantise(ReadOnlySpan<double> values, InputChannel channel, Span<int> counts)
    {
        long clipped = 0;
        int most = channel.MaxCount;
        for (int i = 0; i < values.Length; i++)
        {
            double count = Math.Round(values[i] / channel.UnitsPerCount, MidpointRounding.ToEven);
            if (Math.Abs(count) > most)
            {
                clipped++;
                count = count < 0 ? -most : most;
            }
            counts[i] = (int)count;
        }
        return clipped;
    }
}
