namespace HilRunner.Core.Models;

/// <summary>The integer statistics of one series over one window. Formulas and their order: README.md beside this file.</summary>
internal struct WindowStatistics
{
    public int Mean { get; private set; }
    public int Deviation { get; private set; }
    public int Minimum { get; private set; }
    public int Maximum { get; private set; }
    public int Step { get; private set; }
    public int Roughness { get; private set; }
    public int Crossings { get; private set; }

    /// <param name="window">Oldest first, 2 to 4096 values within ±65535.</param>
    public static WindowStatistics Of(ReadOnlySpan<int> window)
    {
        long count = window.Length;
        long sum = 0, squares = 0, steps = 0, stepSquares = 0;
        int minimum = int.MaxValue, maximum = int.MinValue;
        int previous = window[0];
        foreach (int value in window)
        {
            long step = value - previous;
            sum += value;
            squares += (long)value * value;
            steps += Math.Abs(step);
            stepSquares += step * step;
            minimum = Math.Min(minimum, value);
            maximum = Math.Max(maximum, value);
            previous = value;
        }
        WindowStatistics result = new()
        {
            Mean = (int)(sum / count),
            Deviation = (int)IntegerRoot.Floor((ulong)((count * squares - sum * sum) / (count * count))),
            Minimum = minimum,
            Maximum = maximum,
            Step = (int)(steps / (count - 1)),
            Roughness = (int)IntegerRoot.Floor((ulong)(stepSquares / (count - 1))),
        };
        result.Crossings = CountCrossings(window, result.Mean, result.Deviation / 2);
        return result;
    }

    public readonly int Value(FeatureStatistic statistic) => statistic switch
    {
        FeatureStatistic.Mean => Mean,
        FeatureStatistic.Deviation => Deviation,
        FeatureStatistic.Minimum => Minimum,
        FeatureStatistic.Maximum => Maximum,
        FeatureStatistic.Range => Maximum - Minimum,
        FeatureStatistic.Step => Step,
        FeatureStatistic.Roughness => Roughness,
        FeatureStatistic.Pace => Deviation == 0 ? 0 : 1000 * Roughness / Deviation,
        _ => Crossings,
    };

    // The band keeps sensor noise round the mean from counting as motion.
    private static int CountCrossings(ReadOnlySpan<int> window, int mean, int band)
    {
        int side = 0;
        int crossings = 0;
        foreach (int value in window)
        {
            int now = value - mean > band ? 1 : value - mean < -band ? -1 : 0;
            if (now == 0 || now == side) { continue; }
            if (side != 0) { crossings++; }
            side = now;
        }
        return crossings;
    }
}
