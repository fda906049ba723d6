using HilRunner.Core.Numerics;

namespace HilRunner.Core.Signals.Filters;

/// <summary>One section (b₀ + b₁z⁻¹ + b₂z⁻²)/(1 + a₁z⁻¹ + a₂z⁻²).</summary>
internal readonly record struct Section(double B0, double B1, double B2, double A1, double A2)
{
    /// <summary>|H|² at a frequency of <paramref name="turns"/> of the sample rate.</summary>
    public double PowerGain(double turns)
    {
        var (sin, cos) = PortableMath.SinCosTurns(turns);
        var (sin2, cos2) = PortableMath.SinCosTurns(2 * turns);
        return Square(B0 + B1 * cos + B2 * cos2, B1 * sin + B2 * sin2) / Square(1 + A1 * cos + A2 * cos2, A1 * sin + A2 * sin2);
    }

    /// <summary>With |H| = 1 at that frequency.</summary>
    public Section UnityAt(double turns)
    {
        double gain = Math.Sqrt(PowerGain(turns));
        return this with { B0 = B0 / gain, B1 = B1 / gain, B2 = B2 / gain };
    }

    /// <summary>Answers the next sample, in direct form II transposed.</summary>
    /// <param name="state">What it keeps from sample to sample; 0 and 0: it has been given nothing.</param>
    public double Next(double u, ref (double First, double Second) state)
    {
        double y = B0 * u + state.First;
        state = (B1 * u - A1 * y + state.Second, B2 * u - A2 * y);
        return y;
    }

    private static double Square(double re, double im) => re * re + im * im;
}

/// <summary>
/// Filters by a cascade of second-order sections in direct form II transposed, as scipy.signal.sosfilt does it. The first
/// sample is taken to have lasted for ever, so that gravity brings no step at the start.
/// </summary>
internal static class SecondOrderSections
{
    /// <summary>In place, forward in time: causal, with the delay of a real filter.</summary>
    public static void Filter(IReadOnlyList<Section> sections, Span<double> x)
    {
        if (x.IsEmpty) { return; }
        double settled = x[0];
        foreach (var section in sections) { settled = Filter(section, x, settled); }
    }

    /// <summary>
    /// In place, forward and then backward: no delay, the amplitude response squared. The ends are continued by their mirror
    /// image through the end point, as scipy.signal.sosfiltfilt does it (as far as the signal goes, where it is shorter than the padding).
    /// </summary>
    public static void FilterBothWays(IReadOnlyList<Section> sections, Span<double> x)
    {
        if (x.IsEmpty) { return; }
        int pad = Math.Min(Padding(sections), x.Length - 1);
        var padded = new double[x.Length + 2 * pad];
        for (int i = 0; i < pad; i++)
        {
            padded[i] = 2 * x[0] - x[pad - i];
            padded[^(i + 1)] = 2 * x[^1] - x[^(pad - i + 1)];
        }
        x.CopyTo(padded.AsSpan(pad));
        Filter(sections, padded);
        Array.Reverse(padded);
        Filter(sections, padded);
        Array.Reverse(padded);
        padded.AsSpan(pad, x.Length).CopyTo(x);
    }

    /// <summary>Three times the taps of the whole filter; a first-order section counts as such.</summary>
    private static int Padding(IReadOnlyList<Section> sections) =>
        3 * (2 * sections.Count + 1 - Math.Min(sections.Count(s => s.B2 == 0), sections.Count(s => s.A2 == 0)));

    /// <param name="x">Filtered in place.</param>
    /// <param name="input">What the section has been given for ever.</param>
    /// <returns>What it has answered for ever.</returns>
    private static double Filter(Section s, Span<double> x, double input)
    {
        double settled = input * (s.B0 + s.B1 + s.B2) / (1 + s.A1 + s.A2);
        double second = s.B2 * input - s.A2 * settled;
        var state = (First: s.B1 * input - s.A1 * settled + second, Second: second);
        for (int i = 0; i < x.Length; i++) { x[i] = s.Next(x[i], ref state); }
        return settled;
    }
}
