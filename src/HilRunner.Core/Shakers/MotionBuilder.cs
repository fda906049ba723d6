using System.Numerics;
using HilRunner.Core.Numerics;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Time;

namespace HilRunner.Core.Shakers;

/// <summary>A recording's motion along one axis, as a table can make it.</summary>
/// <param name="Motion">What is sent.</param>
/// <param name="WantedG">[sample] as recorded, without its mean: gravity stays gravity.</param>
/// <param name="ToldG">[sample] what of it the table is told to make.</param>
/// <param name="FromHz">The lowest frequency that is kept.</param>
/// <param name="Scale">1: as strong as recorded.</param>
/// <param name="Outside">Why it must not be sent; null: it may.</param>
public sealed record BuiltMotion(TableMotion Motion, double[] WantedG, double[] ToldG, double FromHz, double ToHz, double Scale, string? Outside);

/// <summary>
/// From acceleration to displacement: band-limited double integration, X(f) = −A(f)/(2πf)², between the envelope's frequencies and nowhere else, so that neither a bias nor a tilt runs away. The band's
/// edges are raised cosines, a quarter of the lowest frequency and a tenth of the highest wide, and the filter has zero phase: nothing is delayed. Before time 0 and after the end the motion is continued mirrored, and fades in and
/// out by raised cosines as softly as the envelope's ramp asks: what is scored is not faded.
/// </summary>
public static class MotionBuilder
{
    /// <summary>A raised cosine is steepest at π/2 over its length; a tenth more for what the fade itself adds.</summary>
    private const double FadePerRamp = Math.PI / 2 * 1.1;
    private const double LowLevelS = 16, ShortestFadeS = 1, StillS = 0.05, LowerEdge = 1.25, UpperEdge = 0.9,
        FilterStep = 1.189207115002721;
    /// <summary>Of what would just fit: fading and whole nanometres add a little.</summary>
    private const double FitShare = 0.97;

    /// <param name="acceleration">Along the table's axis, in g, gravity included.</param>
    /// <param name="response">What the table makes of what it is told, at a frequency, so that it is told the inverse; null: what it is told is taken to be made.</param>
    /// <exception cref="ArgumentException">No samples, or rates that cannot be joined.</exception>
    public static BuiltMotion Build(ReadOnlySpan<double> acceleration, SampleRate rate, Envelope envelope, SampleRate positions, MotionFit fit, Func<double, Complex>? response = null)
    {
        ArgumentNullException.ThrowIfNull(envelope);
        if (acceleration.Length < 2) { throw new ArgumentException("a motion of fewer than two samples", nameof(acceleration)); }
        double mean = 0;
        foreach (double g in acceleration) { mean += g / acceleration.Length; }
        double[] wanted = new double[acceleration.Length];
        for (int n = 0; n < wanted.Length; n++) { wanted[n] = acceleration[n] - mean; }
        double[] fine = Resampled(wanted, rate, positions);
        double from = envelope.FromHz, scale = 1;
        var built = Motion(fine, positions, envelope, from, scale, response);
        string? outside = Why(built, envelope);
        if (fit == MotionFit.Scale && outside is not null)
        {
            // What is smaller also fades in sooner: a second look at what is left.
            for (int i = 0; i < 4 && outside is not null && built.Length <= envelope.Longest; i++)
            {
                scale *= FitShare * Math.Min(1, Room(built, envelope));
                built = Motion(fine, positions, envelope, from, scale, response);
                outside = Why(built, envelope);
            }
        }
        while (fit == MotionFit.Filter && outside is not null && built.Length <= envelope.Longest && from * FilterStep * LowerEdge < envelope.ToHz * UpperEdge)
        {
            from *= FilterStep;
            built = Motion(fine, positions, envelope, from, scale, response);
            outside = Why(built, envelope);
        }
        return new(built, wanted, AtSamples(built, rate, wanted.Length), from, envelope.ToHz, scale, outside);
    }

    /// <summary>
    /// A measuring motion: sixteen seconds of even random vibration over the whole band, whose peaks reach about the level that
    /// is asked for, or what the envelope allows.
    /// </summary>
    /// <param name="peakG">In g.</param>
    /// <param name="response">As <see cref="Build"/> takes it: what is wanted is the same then.</param>
    public static BuiltMotion LowLevel(
        Envelope envelope, SampleRate positions, double peakG, Func<double, Complex>? response = null)
    {
        ArgumentNullException.ThrowIfNull(envelope);
        // A third of the peak in the band, of noise that reaches up to half the rate.
        double r = positions.Hertz, rms = peakG / 3 * Math.Sqrt(r / 2 / (envelope.ToHz - envelope.FromHz));
        var noise = new GaussianNoise(1);
        double[] even = new double[(int)(LowLevelS * r)];
        for (int k = 0; k < even.Length; k++) { even[k] = rms * noise.Next(); }
        var plain = Build(even, positions, envelope, positions, MotionFit.Scale);
        if (response is null) { return plain; }
        for (int k = 0; k < even.Length; k++) { even[k] *= plain.Scale; }
        return Build(even, positions, envelope, positions, MotionFit.None, response);
    }

    /// <summary>By how much it may be stronger before it leaves the envelope; below 1: it is outside.</summary>
    public static double Room(TableMotion motion, Envelope envelope)
    {
        ArgumentNullException.ThrowIfNull(motion);
        ArgumentNullException.ThrowIfNull(envelope);
        double r = motion.Rate.Hertz, share = StreamGate.Share;
        double x = 0, v = 0, a = 0, j = 0, x1 = 0, v1 = 0, a1 = 0;
        foreach (long nm in motion.Nm)
        {
            double x0 = nm / 1e9, v0 = (x0 - x1) * r, a0 = (v0 - v1) * r;
            (x, v, a, j) = (Math.Max(x, Math.Abs(x0)), Math.Max(v, Math.Abs(v0)), Math.Max(a, Math.Abs(a0)), Math.Max(j, Math.Abs(a0 - a1) * r));
            (x1, v1, a1) = (x0, v0, a0);
        }
        return new[] { envelope.Displacement / x, envelope.Velocity * share / v,
            envelope.PeakG * Gravity.Standard * share * share / a,
            envelope.Jerk * Gravity.Standard * share * share * share / j }.Min();
    }

    private static string? Why(TableMotion motion, Envelope envelope) => motion.Refused(envelope) is { } refused ? FormattableString.Invariant($"at {refused.AtS:0.00} s: {refused.Why}") : null;

    private static TableMotion Motion(double[] accelerationG, SampleRate rate, Envelope envelope, double fromHz, double scale, Func<double, Complex>? response)
    {
        double r = rate.Hertz;
        int n = accelerationG.Length, washout = (int)Math.Ceiling(4 / fromHz * r), still = (int)Math.Ceiling(StillS * r);
        // The strongest that the fade may have to rise to: the whole signal's, mirrored or not.
        double peak = scale * accelerationG.Max(Math.Abs);
        int fade = (int)Math.Ceiling(Math.Max(ShortestFadeS, FadePerRamp * peak / envelope.RampGPerS) * r), length = n + 2 * fade;
        var fourier = new FourierTransform((int)BitOperations.RoundUpToPowerOf2((uint)(length + 2 * washout)));
        double[] re = new double[fourier.Size], im = new double[fourier.Size];
        for (int i = 0; i < length; i++) { re[washout + i] = scale * accelerationG[Mirrored(i - fade, n)]; }
        fourier.Forward(re, im);
        for (int k = 0; k < fourier.Size; k++)
        {
            int turns = k <= fourier.Size / 2 ? k : k - fourier.Size;
            double hz = Math.Abs(turns) * r / fourier.Size, weight = Passed(hz, fromHz, envelope.ToHz);
            if (weight == 0)
            {
                (re[k], im[k]) = (0, 0);
                continue;
            }
            double omega = 2 * Math.PI * hz;
            Complex x = new Complex(re[k], im[k]) * (-Gravity.Standard * weight / (omega * omega));
            if (response is not null) { x /= turns > 0 ? response(hz) : Complex.Conjugate(response(hz)); }
            (re[k], im[k]) = (x.Real, x.Imaginary);
        }
        fourier.Backward(re, im);
        long[] nm = new long[length + 2 * still];
        for (int i = 0; i < length; i++)
        {
            double edge = Math.Min(1, Math.Min(i, length - 1 - i) / (double)fade), faded = 0.5 - 0.5 * PortableMath.SinCosTurns(edge / 2).Cos;
            nm[still + i] = (long)Math.Round(re[washout + i] * faded * 1e9);
        }
        return new(rate, nm, still + fade);
    }

    /// <summary>The share of a frequency that is kept.</summary>
    private static double Passed(double hz, double fromHz, double toHz)
    {
        if (hz <= fromHz || hz >= toHz) { return 0; }
        double lower = Math.Min(1, (hz / fromHz - 1) / (LowerEdge - 1)), upper = Math.Min(1, (1 - hz / toHz) / (1 - UpperEdge));
        return (0.5 - 0.5 * PortableMath.SinCosTurns(lower / 2).Cos) * (0.5 - 0.5 * PortableMath.SinCosTurns(upper / 2).Cos);
    }

    /// <summary>Mirrored and not turned: a turned end adds steps of the mean, which ring for longer.</summary>
    private static int Mirrored(int i, int n)
    {
        int period = 2 * (n - 1), place = ((i % period) + period) % period;
        return place < n ? place : period - place;
    }

    private static double[] Resampled(double[] signal, SampleRate rate, SampleRate to)
    {
        if (rate == to) { return signal; }
        var resampler = PolyphaseResampler.Of(PolyphaseResampler.Ratio(rate, to)) ?? throw new ArgumentException($"{rate} cannot be played at {to}: their ratio is beyond {PolyphaseResampler.LargestFactor}");
        return resampler.Apply(signal);
    }

    /// <summary>What the positions make at the moments of the samples.</summary>
    private static double[] AtSamples(TableMotion motion, SampleRate rate, int count)
    {
        double[] told = motion.ToldG(), made = new double[count];
        for (int n = 0; n < count; n++) { made[n] = motion.ToldAt(told, n / rate.Hertz); }
        return made;
    }
}
