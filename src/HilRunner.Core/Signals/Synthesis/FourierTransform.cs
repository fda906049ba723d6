using System.Numerics;
using HilRunner.Core.Numerics;

namespace HilRunner.Core.Signals.Synthesis;

/// <summary>
/// Discrete Fourier transform of a power of two of points, in place (Cooley and Tukey, Math. Comp. 19:297–301, 1965). Own, because
/// its order of operations and its sines must be the same on every machine.
/// </summary>
internal sealed class FourierTransform
{
    private readonly double[] _sin;
    private readonly double[] _cos;

    public FourierTransform(int size)
    {
        if (!BitOperations.IsPow2(size)) { throw new ArgumentOutOfRangeException(nameof(size), size, "a power of two"); }
        Size = size;
        (_sin, _cos) = (new double[size / 2], new double[size / 2]);
        for (int k = 0; k < size / 2; k++) { (_sin[k], _cos[k]) = PortableMath.SinCosTurns((double)k / size); }
    }

    public int Size { get; }

    /// <summary>X[k] = Σ x[n] e^(−2πikn/N).</summary>
    public void Forward(double[] re, double[] im)
    {
        Reorder(re, im);
        for (int half = 1; half < Size; half *= 2)
        {
            int stride = Size / (2 * half);
            for (int start = 0; start < Size; start += 2 * half)
            {
                for (int k = 0; k < half; k++)
                {
                    double cos = _cos[k * stride], sin = _sin[k * stride];
                    int a = start + k, b = a + half;
                    double turnedRe = re[b] * cos + im[b] * sin, turnedIm = im[b] * cos - re[b] * sin;
                    (re[b], im[b]) = (re[a] - turnedRe, im[a] - turnedIm);
                    (re[a], im[a]) = (re[a] + turnedRe, im[a] + turnedIm);
                }
            }
        }
    }

    /// <summary>x[n] = 1/N · Σ X[k] e^(2πikn/N): the same with real and imaginary parts swapped.</summary>
    public void Backward(double[] re, double[] im)
    {
        Forward(im, re);
        for (int i = 0; i < Size; i++) { (re[i], im[i]) = (re[i] / Size, im[i] / Size); }
    }

    private void Reorder(double[] re, double[] im)
    {
        for (int i = 1, j = 0; i < Size; i++)
        {
            int bit = Size >> 1;
            for (; (j & bit) != 0; bit >>= 1) { j ^= bit; }
            j |= bit;
            if (i < j)
            {
                (re[i], re[j]) = (re[j], re[i]);
                (im[i], im[j]) = (im[j], im[i]);
            }
        }
    }
}
