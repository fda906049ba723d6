using System.Globalization;
using UnitsNet;
using UnitsNet.Units;

namespace HilRunner.Core.Documents;

/// <summary>A kind of quantity: what it is called, its units, and the base unit that values are returned in.</summary>
/// <param name="Name">With its article, for messages: a duration.</param>
/// <param name="Examples">Two ways to write one.</param>
/// <param name="Factors">Unit as written → base units in one of it, exact where it is exact.</param>
internal sealed record UnitKind(string Name, string[] Examples, IReadOnlyDictionary<string, decimal> Factors)
{
    private const decimal StandardGravity = 9.80665m;

    /// <summary>In nanoseconds.</summary>
    public static readonly UnitKind Duration = new("a duration", ["12 s", "200 ms"], Table(DurationUnit.Nanosecond,
        ("s", DurationUnit.Second), ("ms", DurationUnit.Millisecond), ("us", DurationUnit.Microsecond),
        ("µs", DurationUnit.Microsecond), ("ns", DurationUnit.Nanosecond), ("min", DurationUnit.Minute), ("h", DurationUnit.Hour)));

    /// <summary>In millihertz.</summary>
    public static readonly UnitKind Frequency = new("a frequency", ["50 Hz", "1.6 kHz"], Table(FrequencyUnit.Millihertz,
        ("Hz", FrequencyUnit.Hertz), ("kHz", FrequencyUnit.Kilohertz), ("mHz", FrequencyUnit.Millihertz)));

    /// <summary>In g (1 g = 9.80665 m/s²).</summary>
    public static readonly UnitKind Acceleration = new("an acceleration", ["1 mg", "0.3 g"], Table(AccelerationUnit.StandardGravity,
        ("g", AccelerationUnit.StandardGravity), ("mg", AccelerationUnit.MillistandardGravity),
        ("m/s2", AccelerationUnit.MeterPerSecondSquared), ("m/s²", AccelerationUnit.MeterPerSecondSquared)));

    /// <summary>In g²/Hz, one-sided.</summary>
    public static readonly UnitKind AccelerationDensity = new("an acceleration spectral density", ["0.01 g2/Hz", "1 (m/s2)2/Hz"], new Dictionary<string, decimal>
    {
        ["g2/Hz"] = 1, ["g²/Hz"] = 1, ["(m/s2)2/Hz"] = 1 / (StandardGravity * StandardGravity), ["(m/s²)²/Hz"] = 1 / (StandardGravity * StandardGravity),
    });

    /// <summary>In metres.</summary>
    public static readonly UnitKind Length = new("a length", ["1 m", "80 cm"], Table(LengthUnit.Meter,
        ("m", LengthUnit.Meter), ("cm", LengthUnit.Centimeter), ("mm", LengthUnit.Millimeter)));

    /// <summary>In metres per second.</summary>
    public static readonly UnitKind Velocity = new("a velocity", ["0.5 m/s", "200 mm/s"], Table(SpeedUnit.MeterPerSecond,
        ("m/s", SpeedUnit.MeterPerSecond), ("mm/s", SpeedUnit.MillimeterPerSecond)));

    /// <summary>In g per second.</summary>
    public static readonly UnitKind Jerk = new("a jerk", ["500 g/s", "5000 m/s3"], new Dictionary<string, decimal>
    {
        ["g/s"] = 1, ["m/s3"] = 1 / StandardGravity, ["m/s³"] = 1 / StandardGravity,
    });

    /// <summary>In degrees.</summary>
    public static readonly UnitKind Angle = new("an angle", ["90 deg", "1.57 rad"], Table(AngleUnit.Degree,
        ("deg", AngleUnit.Degree), ("°", AngleUnit.Degree), ("rad", AngleUnit.Radian)));

    /// <summary>In degrees per second.</summary>
    public static readonly UnitKind AngularRate = new("an angular rate", ["250 dps", "4 rad/s"], Table(RotationalSpeedUnit.DegreePerSecond,
        ("dps", RotationalSpeedUnit.DegreePerSecond), ("mdps", RotationalSpeedUnit.MillidegreePerSecond),
        ("deg/s", RotationalSpeedUnit.DegreePerSecond), ("°/s", RotationalSpeedUnit.DegreePerSecond),
        ("rad/s", RotationalSpeedUnit.RadianPerSecond)));

    /// <summary>In volts.</summary>
    public static readonly UnitKind Voltage = new("a voltage", ["3.7 V", "500 mV"], Table(ElectricPotentialUnit.Volt,
        ("V", ElectricPotentialUnit.Volt), ("mV", ElectricPotentialUnit.Millivolt)));

    /// <summary>In amperes.</summary>
    public static readonly UnitKind Current = new("a current", ["0.5 A", "200 mA"], Table(ElectricCurrentUnit.Ampere,
        ("A", ElectricCurrentUnit.Ampere), ("mA", ElectricCurrentUnit.Milliampere)));

    /// <summary>In parts per million.</summary>
    public static readonly UnitKind Skew = new("a rate difference", ["50 ppm", "-20 ppm"], Table(RatioUnit.PartPerMillion,
        ("ppm", RatioUnit.PartPerMillion), ("%", RatioUnit.Percent)));

    /// <summary>As a fraction of 1; may also be written as a bare number.</summary>
    public static readonly UnitKind Share = new("a share", ["0.95", "95 %"], Table(RatioUnit.DecimalFraction,
        ("%", RatioUnit.Percent), ("ppm", RatioUnit.PartPerMillion)));

    /// <summary>a duration with its unit, such as 12 s or 200 ms.</summary>
    public string Expected => this == Share
        ? $"{Name} such as {Examples[0]} or {Examples[1]}"
        : $"{Name} with its unit, such as {Examples[0]} or {Examples[1]}";

    private static Dictionary<string, decimal> Table<TUnit>(TUnit baseUnit, params (string Written, TUnit Unit)[] units)
        where TUnit : struct, Enum =>
        units.ToDictionary(u => u.Written, u => Factor(u.Unit, baseUnit), StringComparer.Ordinal);

    /// <summary>
    /// Base units in one unit. Of the factor and its inverse the one with fewer digits is the exact one (1000000000, not
    /// 1e-9; 9.80665, not 0.1019…): decimal arithmetic with it stays exact.
    /// </summary>
    private static decimal Factor<TUnit>(TUnit unit, TUnit baseUnit) where TUnit : struct, Enum
    {
        decimal forward = Shortest((double)UnitConverter.Convert(1, unit, baseUnit));
        decimal backward = Shortest((double)UnitConverter.Convert(1, baseUnit, unit));
        return Digits(forward) <= Digits(backward) ? forward : 1 / backward;
    }

    /// <summary>To the 15 digits that a double holds for sure, without trailing zeros.</summary>
    private static decimal Shortest(double x) => (decimal)x / 1.0000000000000000000000000000m;

    private static int Digits(decimal x) => x.ToString(CultureInfo.InvariantCulture).Length;
}
