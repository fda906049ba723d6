using CsCheck;
using HilRunner.Core.Scenarios;

namespace HilRunner.Reporting.Tests;

internal sealed class FigureTests
{
    // JCGM 100:2008, 7.2.6: y = 10.057 62 Ω with u = 27 mΩ is to be written 10.058 Ω (from memory). 7.2.2: 100.021 47 g with u = 0.35 mg.
    [TestCase(10.05762, 0.027, "Ω", "10.058 ± 0.027 Ω")]
    [TestCase(100.02147, 0.00035, "g", "100.02147 ± 0.00035 g")]
    [TestCase(1.23456, 0.0123, "s", "1.235 ± 0.012 s")]
    [TestCase(1.23456, 0.0996, "s", "1.23 ± 0.10 s")]
    [TestCase(1.23456, 0.00996, "s", "1.235 ± 0.010 s")]
    [TestCase(12345.6, 123.0, "Hz", "12350 ± 120 Hz")]
    [TestCase(12345.6, 99.6, "Hz", "12350 ± 100 Hz")]
    [TestCase(-0.004, 0.25, "s", "0.00 ± 0.25 s")]
    [TestCase(-3.04, 0.25, "s", "−3.04 ± 0.25 s")]
    public void Gives_the_uncertainty_two_digits_and_the_value_as_many_decimals(double value, double uncertainty, string unit, string expected) =>
        Assert.That(Figure.With(value, uncertainty, unit), Is.EqualTo(expected));

    [TestCase(null, "—")]
    [TestCase(double.NaN, "—")]
    [TestCase(double.PositiveInfinity, "∞ s")]
    [TestCase(0.0, "0 s")]
    [TestCase(3.0, "3 s")]
    [TestCase(1.5, "1.50 s")]
    [TestCase(0.0123, "12.3 ms")]
    [TestCase(0.9997, "1.00 s")]
    public void Shows_times_with_their_unit_and_absence_as_a_dash(double? seconds, string expected) =>
        Assert.That(Figure.Seconds(seconds), Is.EqualTo(expected));

    [TestCase(0L, "0 s")]
    [TestCase(412_000L, "412 µs")]
    [TestCase(1_000_000L, "1 ms")]
    [TestCase(-31_200_000L, "−31.2 ms")]
    [TestCase(3_630_000_000L, "3.63 s")]
    public void Shows_nanoseconds_in_the_unit_that_fits(long ns, string expected) => Assert.That(Figure.Nanoseconds(ns), Is.EqualTo(expected));

    [TestCase(0L, "0.0 s")]
    [TestCase(12_345_678_900L, "12.346 s")]
    [TestCase(599_999_000_000L, "599.999 s")]
    [TestCase(3_723_400_000_000L, "1:02:03.4")]
    [TestCase(3_599_960_000_000L, "1:00:00.0")]
    public void Shows_places_on_the_axis(long ns, string expected) => Assert.That(Figure.At(ns), Is.EqualTo(expected));

    [Test]
    public void Counts_come_with_their_share_and_none_of_none_without() => Assert.Multiple(() =>
    {
        Assert.That(Figure.Of(41, 46), Is.EqualTo("41 of 46 (89.1 %)"));
        Assert.That(Figure.Of(0, 0), Is.EqualTo("0 of 0"));
        Assert.That(Figure.Of(Measure.Recognised, null), Is.EqualTo("—"));
        Assert.That(Figure.Of(Measure.FalseAlarmsPerHour, 0.5), Is.EqualTo("0.500 /h"));
    });

    /// <summary>The shown value is off by no more than half a unit of the last place of the shown uncertainty, and that is within 5 % + rounding.</summary>
    [Test]
    public void Never_shows_a_value_farther_off_than_its_last_digit() =>
        Gen.Select(Gen.Double[-1e6, 1e6], Gen.Double[1e-6, 1e4]).Sample((value, u) =>
        {
            string[] parts = Figure.With(value, u, "").Replace('−', '-').Split(" ± ");
            double shown = double.Parse(parts[0]), shownU = double.Parse(parts[1]);
            string digits = parts[1].Replace(".", "").TrimStart('0');
            double place = Math.Pow(10, Math.Floor(Math.Log10(shownU) + 1e-9) - 1);
            return Math.Abs(shown - value) <= place * 0.5001 + 1e-9 && Math.Abs(shownU - u) <= place * 0.5001 && digits.Length >= 2;
        }, iter: 20_000);
}
