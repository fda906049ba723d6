using System.Numerics;
using HilRunner.Core.Time;

namespace HilRunner.Core.Numerics;

/// <summary>
/// Changes the rate of a signal by a ratio of whole numbers: insert zeros, low-pass, keep every Down-th sample, computed
/// without the zeros (Crochiere and Rabiner, Multirate Digital Signal Processing, 1983). The low-pass is a windowed sinc of
/// 20·max(Up, Down) + 1 taps with its −6 dB point at the lower of the two Nyquist frequencies and a Kaiser window of β = 5: about
/// 55 dB of rejection from 1.2 times that frequency on. It has zero phase: nothing is delayed, and sample 0 stays at time 0.
/// <para>
/// Beyond its ends a signal is taken to go on along the straight line through its first and its last sample, which keeps
/// gravity where it is; only the rest, signal less line, goes through the filter. (Filtering the whole signal would also put
/// a pattern of up to 0.7 mg on 1 g at rest when the rate goes up.) The same as scipy.signal.resample_poly with its
/// default window, applied to signal less line.
/// </para>
/// </summary>
internal sealed class PolyphaseResampler
{
    /// <summary>Largest of <see cref="Up"/> and <see cref="Down"/>, in lowest terms: the filter has 20 times as many taps.</summary>
    public const int LargestFactor = 1_000_000;

    /// <summary>Largest quotient of the two rates, either way.</summary>
    public const int LargestQuotient = 1000;

    private const double Beta = 5;
    private const int HalfLengthPerFactor = 10;

    /// <summary>[Up × taps of a branch]: branch b holds taps b, b + Up, b + 2 Up …</summary>
    private readonly double[] _branches;
    private readonly int _branchTaps;
    private readonly int _half;

    /// <param name="up">From 1; in lowest terms with <paramref name="down"/>.</param>
    /// <param name="down">From 1.</param>
    public PolyphaseResampler(int up, int down)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(up, 1);
        ArgumentOutOfRangeException.ThrowIfLessThan(down, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(Math.Max(up, down), LargestFactor);
        (Up, Down) = (up, down);
        _half = HalfLengthPerFactor * Math.Max(up, down);
        _branchTaps = 2 * _half / up + 1;
        _branches = new double[(long)up * _branchTaps];
        double[] taps = LowPass(_half, Math.Max(up, down), up);
        for (int i = 0; i < taps.Length; i++) { _branches[(long)(i % up) * _branchTaps + i / up] = taps[i]; }
    }

    public int Up { get; }
    public int Down { get; }

    /// <summary>The resampler of a ratio in lowest terms; null where it is beyond the limits. Rates that are equal need none.</summary>
    public static PolyphaseResampler? Of((long Up, long Down) ratio)
    {
        var (up, down) = ratio;
        return Math.Max(up, down) > LargestFactor || Math.Max(up, down) > LargestQuotient * Math.Min(up, down)
            ? null
            : new((int)up, (int)down);
    }

    /// <param name="stretchPermille">Thousandths of the signal's own length that it is to last: 1000 keeps its speed.</param>
    public static (long Up, long Down) Ratio(SampleRate from, SampleRate to, int stretchPermille = 1000)
    {
        Int128 up = (Int128)to.MilliHertz * stretchPermille, down = (Int128)from.MilliHertz * 1000;
        var divisor = (Int128)BigInteger.GreatestCommonDivisor(up, down);
        return ((long)(up / divisor), (long)(down / divisor));
    }

    /// <summary>As many samples as lie before the end of <paramref name="inputLength"/> samples, at the new rate.</summary>
    public long OutputLength(long inputLength) => (inputLength * Up + Down - 1) / Down;

    public double[] Apply(ReadOnlySpan<double> signal) =>
        signal.IsEmpty
        ? [] : Part(signal, 0, new(signal[0], signal[^1], signal.Length), 0, checked((int)OutputLength(signal.Length)));

    /// <summary>The samples [From, To) of a signal that some of its output is made of.</summary>
    /// <param name="firstOutput">Of the output, from 0 on.</param>
    /// <param name="outputs">How many.</param>
    /// <param name="inputLength">Of the whole signal.</param>
    public (int From, int To) InputOf(long firstOutput, int outputs, int inputLength)
    {
        long oldest = (firstOutput * Down + _half) / Up - (_branchTaps - 1),
            newest = ((firstOutput + outputs - 1) * Down + _half) / Up;
        return ((int)Math.Clamp(oldest, 0, inputLength), (int)Math.Clamp(newest + 1, 0, inputLength));
    }

    /// <summary>
    /// A part of what <see cref="Apply"/> gives for a whole signal, bit for bit, of the part of the signal that it is made of.
    /// </summary>
    /// <param name="part">At least <see cref="InputOf"/>.</param>
    /// <param name="from">Where the part lies in the signal.</param>
    /// <param name="line">Of the whole signal.</param>
    /// <param name="firstOutput">Of the output, from 0 on.</param>
    /// <param name="outputs">How many.</param>
    public double[] Part(ReadOnlySpan<double> part, int from, EndToEndLine line, long firstOutput, int outputs)
    {
        var rest = new double[part.Length];
        for (int i = 0; i < rest.Length; i++) { rest[i] = part[i] - line.At(from + i); }
        var output = new double[outputs];
        for (int m = 0; m < output.Length; m++)
        {
            long place = (firstOutput + m) * Down;
            output[m] = Filtered(rest, from, line.Length, place + _half) + line.At((double)place / Up);
        }
        return output;
    }

    /// <param name="signal">A part of the signal, from sample <paramref name="start"/> on.</param>
    /// <param name="length">Of the whole signal.</param>
    /// <param name="place">Index, among the samples with zeros between, of the newest one under the filter.</param>
    private double Filtered(double[] signal, int start, int length, long place)
    {
        long branch = place % Up * _branchTaps;
        long newest = place / Up;
        int from = (int)Math.Max(0, newest - (length - 1)), to = (int)Math.Min(_branchTaps - 1, newest);
        double sum = 0;
        for (int k = from; k <= to; k++) { sum += _branches[branch + k] * signal[newest - k - start]; }
        return sum;
    }

    /// <summary>Windowed sinc of 2·half + 1 taps, cut-off 1/factor of Nyquist, scaled to a sum of <paramref name="gain"/>.</summary>
    internal static double[] LowPass(int half, int factor, double gain)
    {
        var taps = new double[2 * half + 1];
        double sum = 0, windowTop = PortableMath.BesselI0(Beta);
        for (int i = 0; i <= half; i++)
        {
            double x = (double)(half - i) / factor, place = (double)(half - i) / half;
            double sinc = i == half ? 1 : PortableMath.SinCosTurns(x / 2).Sin / (Math.PI * x);
            taps[i] = taps[2 * half - i] = sinc * PortableMath.BesselI0(Beta * Math.Sqrt(1 - place * place)) / windowTop;
            sum += i == half ? taps[i] : 2 * taps[i];
        }
        for (int i = 0; i < taps.Length; i++) { taps[i] = taps[i] / sum * gain; }
        return taps;
    }
}

/// <summary>The straight line through a signal's first and last sample.</summary>
internal readonly record struct EndToEndLine(double First, double Last, int Length)
{
    private readonly double _slope = Length == 1 ? 0 : (Last - First) / (Length - 1);

    public double At(double sample) => First + _slope * sample;
}
