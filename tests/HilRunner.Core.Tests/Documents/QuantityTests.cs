using System.Globalization;
using CsCheck;
using HilRunner.Core.Documents;
using UnitsNet;
using UnitsNet.Units;
using Quantity = HilRunner.Core.Documents.Quantity;

namespace HilRunner.Core.Tests.Documents;

internal sealed class QuantityTests
{
    [TestCase("12 s", 12_000_000_000)]
    [TestCase("200ms", 200_000_000)]
    [TestCase("1.5 us", 1_500)]
    [TestCase("1.5 µs", 1_500)]
    [TestCase("0.000000001 s", 1)]
    [TestCase("-20 ms", -20_000_000)]
    [TestCase("1e-3 s", 1_000_000)]
    [TestCase("2 min", 120_000_000_000)]
    [TestCase("24 h", 86_400_000_000_000)]
    [TestCase("0.1 s", 100_000_000)]
    public void Durations_are_exact_in_nanoseconds(string text, long ns) => Assert.That(Quantity.DurationNs(text), Is.EqualTo(ns));

    [Test]
    public void Every_nanosecond_survives_being_written_as_seconds() => Gen.Long[-4_000_000_000_000_000_000, 4_000_000_000_000_000_000].Sample(ns =>
        Quantity.DurationNs((ns / 1_000_000_000m).ToString(CultureInfo.InvariantCulture) + " s") == ns);

    [TestCase("12", "\"12\" without a unit; expected a duration with its unit, such as 12 s or 200 ms")]
    [TestCase("12 m", "the unit \"m\" in \"12 m\" (known here: s, ms, us, µs, ns, min, h); expected a duration with its unit, such as 12 s or 200 ms")]
    [TestCase("s", "\"s\"; expected a duration with its unit, such as 12 s or 200 ms")]
    [TestCase("1,5 s", "\"1,5 s\"; expected a duration with its unit, such as 12 s or 200 ms")]
    [TestCase("1e99 s", "the number in \"1e99 s\", which is out of all reason; expected a duration with its unit, such as 12 s or 200 ms")]
    [TestCase("300000 h 1", "\"300000 h 1\"; expected a duration with its unit, such as 12 s or 200 ms")]
    public void What_is_no_duration_is_told(string text, string expected) =>
        Assert.That(Assert.Throws<FormatException>(() => Quantity.DurationNs(text))!.Message, Is.EqualTo(expected));

    /// <summary>1 g = 9.80665 m/s² exactly (3rd CGPM 1901).</summary>
    [TestCase("1 g", 1)]
    [TestCase("1 mg", 0.001)]
    [TestCase("9.80665 m/s2", 1)]
    [TestCase("9.80665 m/s²", 1)]
    public void Accelerations_are_in_g(string text, double g) => Assert.That(Quantity.AccelerationG(text), Is.EqualTo(g).Within(1e-15));

    [TestCase("90 deg", 90)]
    [TestCase("90°", 90)]
    [TestCase("3.14159265358979 rad", 180)]
    public void Angles_are_in_degrees(string text, double degrees) => Assert.That(Quantity.AngleDegrees(text), Is.EqualTo(degrees).Within(1e-9));

    [TestCase("50 Hz", 50_000)]
    [TestCase("1.6 kHz", 1_600_000)]
    [TestCase("33.333 Hz", 33_333)]
    public void Rates_are_whole_millihertz(string text, long milliHertz) => Assert.That(Quantity.Rate(text).MilliHertz, Is.EqualTo(milliHertz));

    [TestCase("33.3333 Hz")]
    [TestCase("0 Hz")]
    [TestCase("11 MHz")]
    public void Other_rates_are_refused(string text) => Assert.That(() => Quantity.Rate(text), Throws.InstanceOf<FormatException>());

    /// <summary>Where the units library knows an abbreviation it means the same; what it lacks or reads otherwise is listed here.</summary>
    [Test]
    public void Abbreviations_are_those_of_the_units_library()
    {
        var own = new List<string>();
        Compare(UnitKind.Duration, DurationUnit.Nanosecond);
        Compare(UnitKind.Frequency, FrequencyUnit.Millihertz);
        Compare(UnitKind.Acceleration, AccelerationUnit.StandardGravity);
        Compare(UnitKind.Angle, AngleUnit.Degree);
        Compare(UnitKind.AngularRate, RotationalSpeedUnit.DegreePerSecond);
        Compare(UnitKind.Skew, RatioUnit.PartPerMillion);
        Compare(UnitKind.Share, RatioUnit.DecimalFraction);
        Assert.That(own, Is.EqualTo(new[] { "us", "m/s2", "dps", "mdps" }));

        void Compare<TUnit>(UnitKind kind, TUnit baseUnit) where TUnit : struct, Enum
        {
            foreach (var (written, factor) in kind.Factors)
            {
                if (!UnitsNetSetup.Default.UnitParser.TryParse<TUnit>(written, CultureInfo.InvariantCulture, out TUnit unit))
                {
                    own.Add(written);
                    continue;
                }
                Assert.That((double)factor, Is.EqualTo((double)UnitConverter.Convert(1, unit, baseUnit)).Within(1e-12).Percent, written);
            }
        }
    }
}
