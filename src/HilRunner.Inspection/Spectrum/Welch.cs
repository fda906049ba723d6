using HilRunner.Core.Files;
using MathNet.Numerics.IntegralTransforms;

namespace HilRunner.Inspection.Spectrum;

/// <summary>
/// Power spectral density by averaged periodograms (Welch, IEEE Trans. Audio Electroacoust. 15(2):70–73, 1967): Hann windows
/// (periodic) that overlap by half, the mean of each taken off, one-sided, in unit² per Hz. The same as scipy.signal.welch with its defaults and
/// nperseg = <see cref="Length"/>. A signal shorter than that gives one window of its own length, padded with zeros.
/// </summary>
internal sealed class Welch
{
    private readonly double[] _sum;
    private readonly double[] _buffer;
    private readonly double _rateHz;

    /// <param name="length">A power of two from 8 on.</param>
    public Welch(double rateHz, int length)
    {
        (_rateHz, Length) = (rateHz, length);
        _sum = new double[length / 2 + 1];
        _buffer = new double[length + 2];
    }

    public int Length { get; }

    /// <summary>Windows averaged so far.</summary>
    public int Windows { get; private set; }

    public double ResolutionHz => _rateHz / Length;

    /// <summary>Density at k × <see cref="ResolutionHz"/>; null before the first window.</summary>
    public double[]? Density => Windows == 0 ? null : Array.ConvertAll(_sum, s => s / Windows);

    /// <summary>
    /// Adds the windows of a stretch [from, to): every <paramref name="stride"/>-th of those that overlap by half.
    /// </summary>
    public void Add(Series<double> signal, int from, int to, int stride = 1)
    {
        if (to - from < 2) { return; }
        int size = Math.Min(to - from, Length);
        for (long start = from; start + size <= to; start += Math.Max(1L, size / 2) * stride)
        {
            AddWindow(signal.Read((int)start, size));
            if (size < Length) { break; }
        }
    }

    private void AddWindow(ReadOnlySpan<double> values)
    {
        double mean = 0, power = 0;
        foreach (double v in values) { mean += v; }
        mean /= values.Length;
        Array.Clear(_buffer);
        for (int i = 0; i < values.Length; i++)
        {
            double w = 0.5 - 0.5 * Math.Cos(2 * Math.PI * i / values.Length);
            power += w * w;
            _buffer[i] = (values[i] - mean) * w;
        }
        Fourier.ForwardReal(_buffer, Length, FourierOptions.NoScaling);
        double scale = 1 / (_rateHz * power);
        for (int k = 0; k < _sum.Length; k++)
        {
            double re = _buffer[2 * k], im = _buffer[2 * k + 1];
            bool single = k == 0 || k == _sum.Length - 1;
            _sum[k] += (re * re + im * im) * scale * (single ? 1 : 2);
        }
        Windows++;
    }

    /// <summary>A power of two of at least four seconds, 64 to 65536 samples.</summary>
    public static int LengthFor(double rateHz)
    {
        int length = 64;
        while (length < 4 * rateHz && length < 65_536) { length *= 2; }
        return length;
    }
}
