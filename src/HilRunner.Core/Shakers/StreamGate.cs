using System.Globalization;
using HilRunner.Core.Numerics;

namespace HilRunner.Core.Shakers;

/// <summary>
/// What stands between every position of a stream and the table: it begins at rest in the middle, and every next position keeps displacement, velocity, acceleration and jerk within the envelope and lets
/// the level rise no faster than the ramp. Positions are whole nanometres, as they are sent, and the derivatives their differences: of what is no faster than an eighth of the rate these are up to 3, 5 and 7 % less than the
/// peak between positions (sin x / x of x = π/8 and its powers), so that the limits are taken that much lower. Not safe for several threads.
/// </summary>
/// <param name="rateHz">Positions a second; at least eight times the envelope's highest frequency.</param>
public sealed class StreamGate(Envelope envelope, double rateHz)
{
    /// <summary>Positions a second for each hertz of the highest frequency.</summary>
    public const int RatePerHz = 8;
    /// <summary>Whole nanometres alone make as much, in g, at a thousand positions a second: no ramp is asked of it.</summary>
    public const double GrainG = 0.002;

    private const double Metre = 1e9;
    /// <summary>What a first difference shows of the true peak at an eighth of the rate; its powers for the further ones.</summary>
    internal static readonly double Share = Math.Sin(Math.PI / RatePerHz) / (Math.PI / RatePerHz);
    private readonly double _mostNm = envelope.Displacement * Metre;
    private readonly double _mostV = envelope.Velocity * Share * Metre / rateHz;
    private readonly double _mostA = envelope.PeakG * Gravity.Standard * Share * Share * Metre / (rateHz * rateHz);
    private readonly double _mostJ = envelope.Jerk * Gravity.Standard * Share * Share * Share * Metre / (rateHz * rateHz * rateHz);
    private readonly double _gPerA = rateHz * rateHz / Metre / Gravity.Standard;
    private long _x, _v, _a, _sent;

    /// <summary>How many were let through.</summary>
    public long Passed => _sent;

    /// <summary>The acceleration of the position that was let through last, in g, its sign taken off.</summary>
    public double PeakG => Math.Abs(_a * _gPerA);

    /// <summary>It stands still in the middle, or will when the table has followed.</summary>
    public bool IsAtRest => _x == 0 && _v == 0 && _a == 0;

    /// <summary>Lets the next position through, or says why not; then nothing has changed.</summary>
    /// <param name="nm">From the middle, in nm.</param>
    /// <returns>Null: it may be sent.</returns>
    public string? Refuses(long nm)
    {
        if (!(Math.Abs((double)nm) <= _mostNm)) { return Text($"{nm / 1e6:0.######} mm, more than {_mostNm / 1e6:0.######} mm either side"); }
        long v = nm - _x, a = v - _v, j = a - _a;
        if (!(Math.Abs((double)v) <= _mostV)) { return Text($"{v * rateHz / Metre:0.#####} m/s between two positions, more than {_mostV * rateHz / Metre:0.#####} m/s"); }
        if (!(Math.Abs((double)a) <= _mostA)) { return Text($"{a * _gPerA:0.####} g over three positions, more than {_mostA * _gPerA:0.####} g"); }
        if (!(Math.Abs((double)j) <= _mostJ)) { return Text($"a jerk of {j * _gPerA * rateHz:0.#} g/s over four positions, more than {_mostJ * _gPerA * rateHz:0.#} g/s"); }
        double risen = envelope.RampGPerS * (_sent + 1) / rateHz;
        if (!(Math.Abs(a * _gPerA) <= risen + GrainG)) { return Text($"{a * _gPerA:0.####} g {(_sent + 1) / rateHz:0.###} s after it began, faster than {envelope.RampGPerS:0.###} g/s"); }
        (_x, _v, _a, _sent) = (nm, v, a, _sent + 1);
        return null;
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
