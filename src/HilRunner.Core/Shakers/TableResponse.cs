using System.Numerics;
using HilRunner.Core.Signals.Synthesis;

namespace HilRunner.Core.Shakers;

/// <summary>
/// What a table makes of what it is told, frequency by frequency: H = S_xy/S_xx and the coherence |S_xy|²/(S_xx S_yy), from averaged periodograms (Welch, IEEE Trans. Audio Electroacoust. 15(2):70–73,
/// 1967; periodic Hann windows that overlap by half, the mean of each taken off): the same as scipy.signal.csd, welch and coherence with nperseg = <see cref="Length"/>.
/// </summary>
/// <param name="StepHz">From one frequency to the next.</param>
/// <param name="Told">[frequency] density of what was told, in g²/Hz, one-sided.</param>
/// <param name="Measured">[frequency] density of what was measured, likewise.</param>
/// <param name="Transfer">[frequency] H.</param>
/// <param name="Coherence">[frequency] 0 to 1: how much of what was measured follows from what was told; the rest is noise and distortion.</param>
public sealed record TableResponse(double StepHz, double[] Told, double[] Measured, Complex[] Transfer, double[] Coherence)
{
    /// <summary>Below it a frequency is not known.</summary>
    private const double LeastCoherence = 0.8;

    public int Length => 2 * (Told.Length - 1);

    /// <summary>Noise and distortion: rms of what was measured and does not follow from what was told, as a share of the rms of all that was measured.</summary>
    public double Distortion
    {
        get
        {
            double all = Measured.Sum(), other = Measured.Select((m, k) => (1 - Coherence[k]) * m).Sum();
            return all > 0 ? Math.Sqrt(other / all) : 0;
        }
    }

    /// <param name="told">In g.</param>
    /// <param name="measured">At the same moments, in g; at least two windows long.</param>
    /// <param name="length">Of a window: a power of two.</param>
    /// <returns>Null: too short for two windows.</returns>
    public static TableResponse? Of(ReadOnlySpan<double> told, ReadOnlySpan<double> measured, double rateHz, int length)
    {
        if (told.Length < length + length / 2 || measured.Length != told.Length) { return null; }
        var fourier = new FourierTransform(length);
        int bins = length / 2 + 1, windows = 0;
        double[] xx = new double[bins], yy = new double[bins], xr = new double[length], xi = new double[length], yr = new double[length], yi = new double[length];
        Complex[] xy = new Complex[bins];
        for (int start = 0; start + length <= told.Length; start += length / 2, windows++)
        {
            Windowed(told.Slice(start, length), xr, xi);
            Windowed(measured.Slice(start, length), yr, yi);
            fourier.Forward(xr, xi);
            fourier.Forward(yr, yi);
            for (int k = 0; k < bins; k++)
            {
                Complex x = new(xr[k], xi[k]), y = new(yr[k], yi[k]);
                (xx[k], yy[k], xy[k]) = (xx[k] + xr[k] * xr[k] + xi[k] * xi[k], yy[k] + yr[k] * yr[k] + yi[k] * yi[k], xy[k] + Complex.Conjugate(x) * y);
            }
        }
        double power = length * 3 / 8.0;
        double[] Density(double[] sums) => [.. sums.Select((s, k) => s / windows / (rateHz * power) * (k == 0 || k == bins - 1 ? 1 : 2))];
        return new(rateHz / length, Density(xx), Density(yy),
            [.. xy.Select((s, k) => xx[k] > 0 ? s / xx[k] : Complex.Zero)],
            [.. xy.Select((s, k) => xx[k] > 0 && yy[k] > 0 ? (s.Real * s.Real + s.Imaginary * s.Imaginary) / (xx[k] * yy[k]) : 0)]);
    }

    /// <summary>
    /// H between the frequencies, where it is known; beyond the first and last of those, theirs.
    /// </summary>
    /// <returns>Null: no frequency is known well enough.</returns>
    public Func<double, Complex>? Known()
    {
        int[] known = [.. Enumerable.Range(1, Told.Length - 1).Where(k => Coherence[k] >= LeastCoherence && Transfer[k].Magnitude > 0)];
        if (known.Length == 0) { return null; }
        return hz =>
        {
            double place = hz / StepHz;
            int right = Array.BinarySearch(known, (int)Math.Ceiling(place));
            if (right < 0) { right = ~right; }
            if (right == 0) { return Transfer[known[0]]; }
            if (right == known.Length) { return Transfer[known[^1]]; }
            int a = known[right - 1], b = known[right];
            double share = (place - a) / (b - a);
            return Transfer[a] + share * (Transfer[b] - Transfer[a]);
        };
    }

    private static void Windowed(ReadOnlySpan<double> signal, double[] re, double[] im)
    {
        double mean = 0;
        foreach (double x in signal) { mean += x / signal.Length; }
        for (int i = 0; i < signal.Length; i++) { (re[i], im[i]) = ((signal[i] - mean) * (0.5 - 0.5 * Math.Cos(2 * Math.PI * i / signal.Length)), 0); }
    }
}
