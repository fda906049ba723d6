using System.Numerics;
using HilRunner.Core.Numerics;

namespace HilRunner.Core.Signals.Synthesis;

/// <summary>
/// Stationary Gaussian noise of a given spectral density: white noise through a symmetric filter of finite length whose response is
/// the root of the density (frequency sampling under a Hann window: Oppenheim and Schafer, Discrete-Time Signal Processing, chapter 7), the
/// convolution done block by block with Fourier transforms (overlap-save, chapter 8). The filter is scaled so that the expected mean
/// square is the density's area. Edges are rounded over an eighth of <see cref="SpectralDensity.FinestHz"/> to either side.
/// </summary>
internal sealed class ColouredNoise
{
    public const int MostTaps = 1 << 17;
    private const int TapsPerFeature = 16;
    private const int FewestTaps = 512;

    private readonly double[] _taps;
    private readonly FourierTransform _transform;
    private readonly double[] _responseRe;
    private readonly double[] _responseIm;

    public ColouredNoise(SpectralDensity density, double rateHz)
    {
        _taps = Design(density, rateHz);
        _transform = new(4 * _taps.Length);
        (_responseRe, _responseIm) = (new double[_transform.Size], new double[_transform.Size]);
        _taps.CopyTo(_responseRe, 0);
        _transform.Forward(_responseRe, _responseIm);
    }

    /// <summary>The finest feature that <see cref="MostTaps"/> can tell apart at a rate.</summary>
    public static double FinestHz(double rateHz) => TapsPerFeature * rateHz / MostTaps;

    /// <summary>Samples from the start on: a longer signal of the same seed begins with the shorter one.</summary>
    public void Fill(Span<double> samples, ulong seed)
    {
        var white = new GaussianNoise(seed);
        int size = _transform.Size, kept = _taps.Length;
        double[] input = new double[size], re = new double[size], im = new double[size];
        for (int i = 0; i < kept; i++) { input[i] = white.Next(); }
        for (int at = 0; at < samples.Length; at += size - kept)
        {
            for (int i = kept; i < size; i++) { input[i] = white.Next(); }
            Convolve(input, re, im);
            re.AsSpan(kept, Math.Min(size - kept, samples.Length - at)).CopyTo(samples[at..]);
            input.AsSpan(size - kept).CopyTo(input);
        }
    }

    private void Convolve(double[] input, double[] re, double[] im)
    {
        input.CopyTo(re, 0);
        Array.Clear(im);
        _transform.Forward(re, im);
        for (int k = 0; k < re.Length; k++)
        {
            (re[k], im[k]) = (re[k] * _responseRe[k] - im[k] * _responseIm[k], re[k] * _responseIm[k] + im[k] * _responseRe[k]);
        }
        _transform.Backward(re, im);
    }

    /// <summary>The filter that makes white noise of variance 1 have the density: 2|H|²/rate.</summary>
    internal static double[] Design(SpectralDensity density, double rateHz)
    {
        int length = Math.Max(FewestTaps, (int)BitOperations.RoundUpToPowerOf2((uint)Math.Ceiling(TapsPerFeature * rateHz / density.FinestHz)));
        var transform = new FourierTransform(4 * length);
        double[] re = new double[transform.Size], im = new double[transform.Size];
        for (int k = 0; k <= transform.Size / 2; k++)
        {
            re[k] = re[(transform.Size - k) % transform.Size] = Math.Sqrt(density.At(k * rateHz / transform.Size) * rateHz / 2);
        }
        transform.Backward(re, im);
        // Around 0, symmetric; its first sample is left out so that the length stays a power of two.
        var taps = new double[length];
        double power = 0;
        for (int n = 1; n < length; n++)
        {
            int lag = n - length / 2;
            double window = 0.5 + 0.5 * PortableMath.SinCosTurns((double)lag / length).Cos;
            taps[n] = re[(lag + transform.Size) % transform.Size] * window;
            power += taps[n] * taps[n];
        }
        double scale = density.Rms / Math.Sqrt(power);
        for (int n = 0; n < length; n++) { taps[n] *= scale; }
        return taps;
    }
}
