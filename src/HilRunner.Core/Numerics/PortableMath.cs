namespace HilRunner.Core.Numerics;

/// <summary>
/// Sine, cosine, logarithm and exponential from additions, multiplications and divisions of IEEE 754 doubles in a fixed order. The ones
/// of <see cref="Math"/> may differ in their last bit from one machine to the next, and a tie in rounding to counts then falls
/// the other way: the same scenario and seed must give the same bytes everywhere.
/// </summary>
internal static class PortableMath
{
    /// <summary>sin and cos of 2π·<paramref name="turns"/>, within 6·10⁻¹⁶; exact at quarter turns. |turns| below 2⁵⁰.</summary>
    public static (double Sin, double Cos) SinCosTurns(double turns)
    {
        double part = turns - Math.Round(turns);
        int quarter = (int)Math.Round(part * 4);
        double angle = (part - quarter * 0.25) * (2 * Math.PI);
        double square = angle * angle;
        double sin = angle * Series(square, 17), cos = Series(square, 16);
        return (quarter & 3) switch
        {
            0 => (sin, cos),
            1 => (cos, -sin),
            2 => (-sin, -cos),
            _ => (-cos, sin),
        };
    }

    /// <summary>Natural logarithm of a positive normal number, relative error within 10⁻¹⁵.</summary>
    public static double Log(double x)
    {
        long bits = BitConverter.DoubleToInt64Bits(x);
        int exponent = (int)(bits >> 52) - 1023;
        double mantissa = BitConverter.Int64BitsToDouble((bits & 0x000F_FFFF_FFFF_FFFF) | 0x3FF0_0000_0000_0000);
        if (mantissa > 1.4142135623730951)
        {
            mantissa *= 0.5;
            exponent++;
        }
        // ln m = 2 artanh((m − 1)/(m + 1)); the argument is at most 0.172, so the term after the last is below 10⁻¹⁸.
        double s = (mantissa - 1) / (mantissa + 1), square = s * s, sum = 0;
        for (int k = 23; k >= 1; k -= 2) { sum = sum * square + 1.0 / k; }
        return exponent * 0.6931471805599453 + 2 * s * sum;
    }

    /// <summary>e to the power of <paramref name="x"/>, relative error within 10⁻¹⁵; |x| up to 700.</summary>
    public static double Exp(double x)
    {
        // x = k ln 2 + rest with |rest| ≤ 0.347, ln 2 in two parts so that k ln 2 loses nothing (Cody and Waite, Software Manual
        // for the Elementary Functions, 1980); the term after the last is below 10⁻¹⁸.
        double k = Math.Round(x * 1.4426950408889634);
        double rest = x - k * 0.693145751953125 - k * 1.4286068203094173e-6, sum = 1;
        for (int n = 14; n >= 1; n--) { sum = 1 + sum * rest / n; }
        return Math.ScaleB(sum, (int)k);
    }

    /// <summary>(eˣ − 1)/x, which is 1 at 0, relative error within 2·10⁻¹⁵; |x| up to 700.</summary>
    public static double Growth(double x)
    {
        if (Math.Abs(x) > 0.5) { return (Exp(x) - 1) / x; }
        // Σ xⁿ/(n + 1)!, where the difference would cancel; the term after the last is below 10⁻¹⁸.
        double sum = 1;
        for (int n = 15; n >= 2; n--) { sum = 1 + sum * x / n; }
        return sum;
    }

    /// <summary>
    /// Modified Bessel function I₀ for 0 ≤ x ≤ 20: Σ ((x/2)ᵏ/k!)² (DLMF 10.25.2), until a term no longer counts.
    /// </summary>
    public static double BesselI0(double x)
    {
        double quarter = x * x / 4, term = 1, sum = 1;
        for (int k = 1; term > sum * 1e-17; k++)
        {
            term = term * quarter / ((double)k * k);
            sum += term;
        }
        return sum;
    }

    /// <summary>1 − a/(n(n−1)) (1 − a/((n−2)(n−3)) (1 − …)): the series of sin x / x (odd n) or cos x (even n) in a = x².</summary>
    private static double Series(double square, int last)
    {
        double sum = 1;
        for (int n = last; n >= 2; n -= 2) { sum = 1 - sum * square / (n * (n - 1)); }
        return sum;
    }
}
