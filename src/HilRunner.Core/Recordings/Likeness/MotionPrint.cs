using System.Numerics;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings.Likeness;

/// <summary>
/// What is left of a motion when it does not matter how the device was turned, at which rate it was recorded or how strong the
/// signal is: the size of the acceleration, from 0.3 Hz to 0.4 of the rate (10 Hz at most), brought to 25 Hz, each second as
/// strong as any other.
/// </summary>
public sealed class MotionPrint
{
    /// <summary>Values a second.</summary>
    public const int Rate = 25;

    internal const double LowestHz = 0.3;

    private const double HighestHz = 10, ShareOfRate = 0.4;

    /// <summary>Recordings of a higher rate are averaged down to about this first: nothing above 10 Hz is looked at.</summary>
    private const int EnoughHz = 100;

    /// <summary>Below this, in g, a second is still: its strength is not brought up.</summary>
    private const double StillG = 1e-4;

    private MotionPrint(double[] values, double topHz) => (Values, TopHz) = (values, topHz);

    /// <summary>At <see cref="Rate"/>.</summary>
    internal double[] Values { get; }

    internal double TopHz { get; }

    public double Seconds => (double)Values.Length / Rate;

    /// <summary>Only so much of a recording is looked at.</summary>
    private const int MostSeconds = 4 * 3600;

    /// <param name="channels">[channel][sample], as <paramref name="names"/>; no number: 0. Accelerations are ax, ay, az.</param>
    public static MotionPrint Of(SampleRate rate, IReadOnlyList<string> names, IReadOnlyList<IReadOnlyList<double>> channels)
    {
        ArgumentNullException.ThrowIfNull(names);
        ArgumentNullException.ThrowIfNull(channels);
        IReadOnlyList<double>[] axes = [.. channels.Where((_, i) => names[i] is "ax" or "ay" or "az")];
        if (axes.Length == 0) { axes = [.. channels]; }
        int of = Math.Max(1, (int)(rate.Hertz / EnoughHz));
        double hertz = rate.Hertz / of, top = Math.Min(HighestHz, ShareOfRate * Math.Min(hertz, Rate));
        return new(Even(Sampled(Band(Size(axes, of, (int)Math.Min(int.MaxValue, MostSeconds * hertz)), hertz, top), hertz)), top);
    }

    /// <summary>Of one axis the axis itself, of several their length; averaged over so many samples, less its mean.</summary>
    private static double[] Size(IReadOnlyList<double>[] axes, int of, int most)
    {
        int n = axes.Length == 0 ? 0 : Math.Min(axes[0].Count / of, most);
        double[] size = new double[n];
        for (int i = 0; i < n * of; i++)
        {
            double sum = 0;
            foreach (var axis in axes)
            {
                double value = double.IsFinite(axis[i]) ? axis[i] : 0;
                sum += axes.Length == 1 ? value : value * value;
            }
            size[i / of] += (axes.Length == 1 ? sum : Math.Sqrt(sum)) / of;
        }
        double mean = n == 0 ? 0 : size.Average();
        for (int i = 0; i < n; i++) { size[i] -= mean; }
        return size;
    }

    private static double[] Band(double[] values, double hertz, double top)
    {
        int size = (int)BitOperations.RoundUpToPowerOf2((uint)Math.Max(2, 2 * values.Length));
        double[] re = new double[size], im = new double[size];
        values.CopyTo(re, 0);
        var transform = new FourierTransform(size);
        transform.Forward(re, im);
        for (int k = 0; k < size; k++)
        {
            double f = Math.Min(k, size - k) * hertz / size;
            if (f < LowestHz || f > top) { (re[k], im[k]) = (0, 0); }
        }
        transform.Backward(re, im);
        return re[..values.Length];
    }

    /// <summary>Between samples in a straight line: what it does to high frequencies it does to both of a pair.</summary>
    private static double[] Sampled(double[] values, double hertz)
    {
        if (values.Length == 0) { return []; }
        double[] sampled = new double[(int)(values.Length * Rate / hertz)];
        for (int i = 0; i < sampled.Length; i++)
        {
            double at = i * hertz / Rate;
            int before = Math.Min((int)at, values.Length - 1), after = Math.Min(before + 1, values.Length - 1);
            sampled[i] = values[before] + (values[after] - values[before]) * (at - before);
        }
        return sampled;
    }

    /// <summary>Each value by how strong the second around it is, so that a single knock does not stand for the whole.</summary>
    private static double[] Even(double[] values)
    {
        double[] even = new double[values.Length];
        for (int i = 0; i < values.Length; i++)
        {
            double squares = 0;
            for (int k = Math.Max(0, i - Rate / 2); k <= Math.Min(values.Length - 1,
                i + Rate / 2); k++) { squares += values[k] * values[k]; }
            even[i] = values[i] / Math.Sqrt(squares / Rate + StillG * StillG);
        }
        return even;
    }
}
