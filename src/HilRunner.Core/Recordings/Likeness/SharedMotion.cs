using System.Numerics;
using HilRunner.Core.Signals.Synthesis;

namespace HilRunner.Core.Recordings.Likeness;

/// <summary>Two recordings of one motion.</summary>
/// <param name="First">Number of the one.</param>
/// <param name="Second">Of the other.</param>
/// <param name="ShiftNs">What is at t in the second is at t + shift in the first.</param>
/// <param name="OverlapNs">How long it is in both.</param>
public sealed record SharedMotion(int First, int Second, long ShiftNs, long OverlapNs);

/// <summary>
/// Finds recordings of the same motion by their content: the phases of two recordings agree at one shift over all frequencies
/// (the phase transform of Knapp and Carter, IEEE Trans. ASSP 24:320–327, 1976), and so do their values, or they do not. Limits
/// are from the open recordings: of 2278 pairs of different ones none comes near; copies that were cut, turned, resampled,
/// rounded or given noise do. Motion that is still, or as short as a knock, cannot be told.
/// </summary>
public static class SharedMotions
{
    /// <summary>How many deviations a peak stands out of the rest: surely, or where the values agree closely.</summary>
    private const double SurePeak = 12, LikelyPeak = 5;

    /// <summary>Correlation of the values at that shift, for the one and for the other.</summary>
    private const double SureValues = 0.25, LikelyValues = 0.8;

    private const double ShortestSeconds = 4;

    public static IReadOnlyList<SharedMotion> Of(IReadOnlyList<MotionPrint> prints)
    {
        ArgumentNullException.ThrowIfNull(prints);
        int longest = prints.Select(p => p.Values.Length).DefaultIfEmpty().Max();
        if (prints.Count < 2 || longest < 2) { return []; }
        var transform = new FourierTransform((int)BitOperations.RoundUpToPowerOf2((uint)(2 * longest)));
        var spectra = new (double[] Re, double[] Im)[prints.Count];
        Parallel.For(0, prints.Count, i => spectra[i] = Phases(prints[i], transform));
        var pairs = Enumerable.Range(0, prints.Count).SelectMany(i => Enumerable.Range(i + 1, prints.Count - i - 1).Select(k =>
            (First: i, Second: k))).ToArray();
        var found = new SharedMotion?[pairs.Length];
        Parallel.For(0, pairs.Length, i =>
        {
            var (first, second) = pairs[i];
            found[i] = Of(first, second, prints, spectra, transform);
        });
        return [.. found.OfType<SharedMotion>()];
    }

    private static SharedMotion? Of(
        int first, int second, IReadOnlyList<MotionPrint> prints, (double[] Re, double[] Im)[] spectra,
            FourierTransform transform)
    {
        int size = transform.Size;
        double[] re = new double[size], im = new double[size];
        var (a, b) = (spectra[first], spectra[second]);
        for (int k = 0; k < size; k++)
        {
            re[k] = a.Re[k] * b.Re[k] + a.Im[k] * b.Im[k];
            im[k] = a.Im[k] * b.Re[k] - a.Re[k] * b.Im[k];
        }
        transform.Backward(re, im);
        // Only shifts at which the two overlap: elsewhere there is nothing, which would make any peak stand out.
        int before = prints[second].Values.Length - 1, after = prints[first].Values.Length - 1, lag = 0;
        double squares = 0, most = 0;
        for (int shift = -before; shift <= after; shift++)
        {
            double value = Math.Abs(re[shift < 0 ? shift + size : shift]);
            squares += value * value;
            if (value > most) { (most, lag) = (value, shift); }
        }
        if (squares == 0) { return null; }
        double peak = most / Math.Sqrt(squares / (before + after + 1));
        int from = Math.Max(0, lag), to = Math.Min(prints[first].Values.Length, prints[second].Values.Length + lag);
        double seconds = (double)(to - from) / MotionPrint.Rate;
        if (seconds < ShortestSeconds || peak < LikelyPeak) { return null; }
        double values = Math.Abs(Correlation(prints[first].Values, prints[second].Values, from, to, lag));
        bool isSame = (peak >= SurePeak && values >= SureValues) || values >= LikelyValues;
        return isSame ? new(first, second, Ns(lag), Ns(to - from)) : null;
    }

    private static long Ns(int values) => values * (1_000_000_000L / MotionPrint.Rate);

    private static (double[] Re, double[] Im) Phases(MotionPrint print, FourierTransform transform)
    {
        double[] re = new double[transform.Size], im = new double[transform.Size];
        print.Values.CopyTo(re, 0);
        transform.Forward(re, im);
        for (int k = 0; k < transform.Size; k++)
        {
            double f = Math.Min(k, transform.Size - k) * (double)MotionPrint.Rate / transform.Size;
            double length = f >= MotionPrint.LowestHz && f <= print.TopHz ? Math.Sqrt(re[k] * re[k] + im[k] * im[k]) : 0;
            (re[k], im[k]) = length > 0 ? (re[k] / length, im[k] / length) : (0, 0);
        }
        return (re, im);
    }

    private static double Correlation(double[] first, double[] second, int from, int to, int lag)
    {
        double both = 0, squaresFirst = 0, squaresSecond = 0;
        for (int i = from; i < to; i++)
        {
            both += first[i] * second[i - lag];
            squaresFirst += first[i] * first[i];
            squaresSecond += second[i - lag] * second[i - lag];
        }
        return squaresFirst == 0 || squaresSecond == 0 ? 0 : both / Math.Sqrt(squaresFirst * squaresSecond);
    }
}
