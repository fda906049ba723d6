using System.Numerics;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Time;

namespace HilRunner.Core.Shakers;

/// <summary>How much of a motion lies between two frequencies, in g rms.</summary>
public sealed record BandLoss(double FromHz, double ToHz, double WantedG, double MadeG);

/// <param name="FromS">On the stimulus axis.</param>
public readonly record struct LostStretch(double FromS, double ToS);

/// <summary>What becomes of a motion on the way to the table.</summary>
/// <param name="WantedG">rms of what was recorded along the axis, without its mean.</param>
/// <param name="MadeG">rms of what is made of it.</param>
/// <param name="ErrorG">rms of the difference.</param>
/// <param name="Bands">Octave by octave, what lies below and above the table's band first and last.</param>
/// <param name="Lost">Stretches, in s, in which more than half of the motion is missing or wrong.</param>
public sealed record MotionLoss(double WantedG, double MadeG, double ErrorG, IReadOnlyList<BandLoss> Bands, IReadOnlyList<LostStretch> Lost)
{
    /// <summary>Less is a device at rest.</summary>
    private const double StillG = 0.01;

    /// <param name="wanted">In g.</param>
    /// <param name="made">At the same moments.</param>
    public static MotionLoss Of(ReadOnlySpan<double> wanted, ReadOnlySpan<double> made, SampleRate rate, double fromHz, double toHz)
    {
        var lost = new List<LostStretch>();
        int second = Math.Max(1, (int)Math.Round(rate.Hertz));
        for (int start = 0; start < wanted.Length; start += second)
        {
            int end = Math.Min(wanted.Length, start + second);
            var (want, error) = (Rms(wanted[start..end]), Rms(wanted[start..end], made[start..end]));
            if (error <= Math.Max(want / 2, StillG)) { continue; }
            double from = start / rate.Hertz, to = end / rate.Hertz;
            if (lost.Count > 0 && lost[^1].ToS == from) { lost[^1] = lost[^1] with { ToS = to }; } else { lost.Add(new(from, to)); }
        }
        return new(Rms(wanted), Rms(made), Rms(wanted, made), BandsOf(wanted, made, rate.Hertz, fromHz, toHz), lost);
    }

    public static double Rms(ReadOnlySpan<double> signal)
    {
        double sum = 0;
        foreach (double x in signal) { sum += x * x; }
        return signal.IsEmpty ? 0 : Math.Sqrt(sum / signal.Length);
    }

    private static double Rms(ReadOnlySpan<double> a, ReadOnlySpan<double> b)
    {
        double sum = 0;
        for (int i = 0; i < a.Length; i++) { sum += (a[i] - b[i]) * (a[i] - b[i]); }
        return a.IsEmpty ? 0 : Math.Sqrt(sum / a.Length);
    }

    private static List<BandLoss> BandsOf(ReadOnlySpan<double> wanted, ReadOnlySpan<double> made, double rateHz, double fromHz, double toHz)
    {
        List<double> edges = [0];
        for (double hz = fromHz; hz < Math.Min(toHz, rateHz / 2); hz *= 2) { edges.Add(hz); }
        edges.Add(Math.Min(toHz, rateHz / 2));
        if (toHz < rateHz / 2) { edges.Add(rateHz / 2); }
        double[] want = Powers(wanted, rateHz, edges), make = Powers(made, rateHz, edges);
        return [.. edges.Zip(edges.Skip(1)).Select((e, i) => new BandLoss(e.First, e.Second, Math.Sqrt(want[i]), Math.Sqrt(make[i])))];
    }

    /// <summary>Mean squares between the edges, by Parseval's theorem: together they are the signal's.</summary>
    private static double[] Powers(ReadOnlySpan<double> signal, double rateHz, List<double> edges)
    {
        var fourier = new FourierTransform((int)BitOperations.RoundUpToPowerOf2((uint)signal.Length));
        double[] re = new double[fourier.Size], im = new double[fourier.Size], powers = new double[edges.Count - 1];
        signal.CopyTo(re);
        fourier.Forward(re, im);
        for (int k = 0; k <= fourier.Size / 2; k++)
        {
            double hz = k * rateHz / fourier.Size;
            int band = Math.Max(0, edges.FindIndex(e => e >= hz) - 1);
            powers[band] += (re[k] * re[k] + im[k] * im[k]) * (k == 0 || k == fourier.Size / 2 ? 1 : 2) / fourier.Size / signal.Length;
        }
        return powers;
    }
}
