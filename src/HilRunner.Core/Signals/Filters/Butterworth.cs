using HilRunner.Core.Numerics;

namespace HilRunner.Core.Signals.Filters;

/// <summary>
/// Digital Butterworth filters: the analogue prototype (Butterworth, On the Theory of Filter Amplifiers, 1930) with its poles
/// evenly on the left half of the unit circle, moved to the band, and taken over by the bilinear transform with the edges
/// prewarped, so that the response is −3 dB exactly there (Oppenheim and Schafer, Discrete-Time Signal Processing, chapter 7). The
/// sections are in no particular order. Agrees with scipy.signal.butter(order, …, output='sos').
/// <para>
/// Own, and not a package's: the design is short, and its coefficients must be the same bits on every machine, which rules
/// out whatever calls the machine's tangent or complex square root.
/// </para>
/// </summary>
internal static class Butterworth
{
    public static List<Section> LowPass(int order, double hertz, double rateHz) => OneEdge(order, hertz / rateHz, -1);

    public static List<Section> HighPass(int order, double hertz, double rateHz) => OneEdge(order, hertz / rateHz, 1);

    /// <summary>2·<paramref name="order"/> poles, as is usual: <paramref name="order"/> at each edge.</summary>
    public static List<Section> BandPass(int order, double lowHz, double highHz, double rateHz)
    {
        double low = Warped(lowHz / rateHz), high = Warped(highHz / rateHz), half = (high - low) / 2, centre = low * high;
        var sections = new List<Section>();
        foreach (var (re, im) in UpperPoles(order))
        {
            // A pole p of the prototype becomes the two roots of s² − 2·half·p·s + centre.
            double pr = re * half, pi = im * half;
            var (rootRe, rootIm) = Root(pr * pr - pi * pi - centre, 2 * pr * pi);
            if (im == 0 && rootIm == 0)
            {
                sections.Add(BandSection(-2 * pr, centre));
                continue;
            }
            sections.Add(BandSection(-2 * (pr + rootRe), Square(pr + rootRe, pi + rootIm)));
            if (im != 0) { sections.Add(BandSection(-2 * (pr - rootRe), Square(pr - rootRe, pi - rootIm))); }
        }
        double middle = TurnsOf(Math.Sqrt(centre));
        return [.. sections.Select(s => s.UnityAt(middle))];
    }

    /// <param name="order">Of the filter.</param>
    /// <param name="turns">Edge as a share of the sample rate.</param>
    /// <param name="zero">Where the zeros lie: −1 for a low-pass, 1 for a high-pass.</param>
    private static List<Section> OneEdge(int order, double turns, int zero)
    {
        double edge = Warped(turns), passes = zero < 0 ? 0 : 0.5;
        var sections = new List<Section>();
        foreach (var (re, im) in UpperPoles(order))
        {
            // The poles lie on the unit circle: taking their inverse for a high-pass only swaps a pole and its conjugate.
            if (im == 0)
            {
                sections.Add(new Section(1, -zero, 0, (edge - 1) / (edge + 1), 0).UnityAt(passes));
                continue;
            }
            var (a1, a2) = Bilinear(-2 * re * edge, edge * edge);
            sections.Add(new Section(1, -2 * zero, 1, a1, a2).UnityAt(passes));
        }
        return sections;
    }

    /// <summary>Zeros at 0 Hz and at half the sample rate.</summary>
    private static Section BandSection(double s1, double s0)
    {
        var (a1, a2) = Bilinear(s1, s0);
        return new(1, 0, -1, a1, a2);
    }

    /// <summary>The denominator s² + s₁s + s₀ with s = (1 − z⁻¹)/(1 + z⁻¹).</summary>
    private static (double A1, double A2) Bilinear(double s1, double s0)
    {
        double first = 1 + s1 + s0;
        return (2 * (s0 - 1) / first, (1 - s1 + s0) / first);
    }

    /// <summary>The prototype's poles on or above the real axis.</summary>
    private static IEnumerable<(double Re, double Im)> UpperPoles(int order)
    {
        for (int k = 0; k < order / 2; k++)
        {
            var (sin, cos) = PortableMath.SinCosTurns((2 * k + order + 1) / (4.0 * order));
            yield return (cos, sin);
        }
        if (order % 2 == 1) { yield return (-1, 0); }
    }

    /// <summary>tan(π·turns): the analogue frequency that the bilinear transform takes to this one.</summary>
    private static double Warped(double turns)
    {
        var (sin, cos) = PortableMath.SinCosTurns(turns / 2);
        return sin / cos;
    }

    /// <summary>The other way round. It only says where the gain is set, and there the response is flat.</summary>
    private static double TurnsOf(double warped)
    {
        double low = 0, high = 0.5;
        for (int i = 0; i < 60; i++)
        {
            double middle = (low + high) / 2;
            if (Warped(middle) < warped) { low = middle; } else { high = middle; }
        }
        return low;
    }

    /// <summary>The square root of re + i·im with a real part of at least 0.</summary>
    private static (double Re, double Im) Root(double re, double im)
    {
        double size = Math.Sqrt(Square(re, im));
        // The half that does not cancel is computed, the other follows from the product im = 2·a·b.
        double large = Math.Sqrt((size + Math.Abs(re)) / 2);
        if (large == 0) { return (0, 0); }
        double small = Math.Abs(im) / (2 * large), sign = im < 0 ? -1 : 1;
        return re >= 0 ? (large, sign * small) : (small, sign * large);
    }

    private static double Square(double re, double im) => re * re + im * im;
}
