namespace HilRunner.Core.Numerics;

/// <summary>
/// Independent standard normal numbers that depend on nothing but the seed: the same on every machine. A uniform number in
/// (0, 1), 52 bits of <see cref="Xoshiro256"/>, goes through the inverse of the normal distribution (Wichura, Algorithm AS
/// 241, Appl. Statist. 37(3):477–484, 1988, PPND16: relative error about 10⁻¹⁶). The largest magnitude that can come up is 8.2.
/// </summary>
internal sealed class GaussianNoise(ulong seed)
{
    private static readonly double[] s_centreTop =
    [
        2509.0809287301226727, 33430.575583588128105, 67265.770927008700853, 45921.953931549871457,
        13731.693765509461125, 1971.5909503065514427, 133.14166789178437745, 3.387132872796366608,
    ];

    private static readonly double[] s_centreBottom =
    [
        5226.495278852545925, 28729.085735721942674, 39307.89580009271061, 21213.794301586595867,
        5394.1960214247511077, 687.1870074920579083, 42.313330701600911252, 1,
    ];

    private static readonly double[] s_flankTop =
    [
        7.7454501427834140764e-4, .0227238449892691845833, .24178072517745061177, 1.27045825245236838258,
        3.64784832476320460504, 5.7694972214606914055, 4.6303378461565452959, 1.42343711074968357734,
    ];

    private static readonly double[] s_flankBottom =
    [
        1.05075007164441684324e-9, 5.475938084995344946e-4, .0151986665636164571966, .14810397642748007459,
        .68976733498510000455, 1.6763848301838038494, 2.05319162663775882187, 1,
    ];

    private static readonly double[] s_tailTop =
    [
        2.01033439929228813265e-7, 2.71155556874348757815e-5, .0012426609473880784386, .026532189526576123093,
        .29656057182850489123, 1.7848265399172913358, 5.4637849111641143699, 6.6579046435011037772,
    ];

    private static readonly double[] s_tailBottom =
    [
        2.04426310338993978564e-15, 1.4215117583164458887e-7, 1.8463183175100546818e-5, 7.868691311456132591e-4,
        .0148753612908506148525, .13692988092273580531, .59983220655588793769, 1,
    ];

    private Xoshiro256 _random = new(seed);

    public double Next() => InverseNormal(((_random.Next() >> 12) + 0.5) * (1.0 / (1L << 52)));

    /// <summary>The value below which a share <paramref name="p"/> of the standard normal distribution lies; 0 &lt; p &lt; 1.</summary>
    internal static double InverseNormal(double p)
    {
        double q = p - 0.5;
        if (Math.Abs(q) <= 0.425)
        {
            double r = 0.180625 - q * q;
            return q * Polynomial(s_centreTop, r) / Polynomial(s_centreBottom, r);
        }
        double tail = Math.Sqrt(-PortableMath.Log(q < 0 ? p : 1 - p));
        double value = tail <= 5
            ? Polynomial(s_flankTop, tail - 1.6) / Polynomial(s_flankBottom, tail - 1.6)
            : Polynomial(s_tailTop, tail - 5) / Polynomial(s_tailBottom, tail - 5);
        return q < 0 ? -value : value;
    }

    private static double Polynomial(double[] coefficients, double x)
    {
        double sum = coefficients[0];
        for (int i = 1; i < coefficients.Length; i++) { sum = sum * x + coefficients[i]; }
        return sum;
    }
}
