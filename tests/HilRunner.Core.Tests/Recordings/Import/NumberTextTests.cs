using System.Globalization;
using CsCheck;
using HilRunner.Core.Recordings.Import;

namespace HilRunner.Core.Tests.Recordings.Import;

/// <summary>Against the framework's parser and its decimal arithmetic.</summary>
public class NumberTextTests
{
    private static readonly Gen<string> s_number =
        from sign in Gen.OneOf("", "-", "+")
        from whole in Gen.String[Gen.Char['0', '9'], 0, 12]
        from point in Gen.OneOf("", ".", ".")
        from part in Gen.String[Gen.Char['0', '9'], 0, 20]
        from exponent in Gen.OneOf("", "", "", "e3", "E-7", "e+02")
        select sign + whole + point + part + exponent;

    private static readonly Gen<string> s_any = Gen.OneOf(s_number, Gen.String[Gen.Char[' ', '~'], 0, 12], Gen.OneOf("NaN", "Infinity", "-0", "-0.0", "1e400", "∞", "٣", "1 2", "--1", "1-", "1.2.3", ".", "-", "+.e"));

    [Test]
    public void Reads_what_the_framework_reads() => s_any.Sample(text =>
    {
        Span<char> buffer = stackalloc char[NumberText.Longest];
        int length = NumberText.Read(text, decimalComma: false, buffer, out double value);
        string bare = NumberText.Bare(text).ToString();
        bool good = double.TryParse(bare, NumberStyles.Float, CultureInfo.InvariantCulture, out double expected) && Math.Abs(expected) <= 1e9;
        Assert.That(length > 0, Is.EqualTo(good), text);
        if (!good) { return; }
        Assert.That(BitConverter.DoubleToInt64Bits(value), Is.EqualTo(BitConverter.DoubleToInt64Bits(expected)), text);
        Assert.That(buffer[..length].ToString(), Is.EqualTo(bare));
    }, iter: 100_000);

    [TestCase("0,98", "0.98", 0.98)]
    [TestCase("-1,5e-3", "-1.5e-3", -0.0015)]
    [TestCase("7", "7", 7)]
    public void Decimal_commas(string cell, string text, double value)
    {
        Span<char> buffer = stackalloc char[NumberText.Longest];
        int length = NumberText.Read(cell, decimalComma: true, buffer, out double read);
        Assert.That((buffer[..length].ToString(), read), Is.EqualTo((text, value)));
    }

    [TestCase("0.98")]
    [TestCase("1.234,5")]
    public void A_point_is_no_decimal_comma(string cell)
    {
        Span<char> buffer = stackalloc char[NumberText.Longest];
        Assert.That(NumberText.Read(cell, decimalComma: true, buffer, out _), Is.Zero);
    }

    [Test]
    public void Multiplies_exactly() => Gen.Select(Gen.Int, Gen.Int[1, 100_000], Gen.Int[0, 6]).Sample((count, digits, scale) =>
    {
        decimal factor = new(digits, 0, 0, false, (byte)scale);
        Span<char> buffer = stackalloc char[NumberText.Longest];
        int length = NumberText.Read(count.ToString(CultureInfo.InvariantCulture), false, buffer, out double value);
        if (length == 0) { return; }
        length = NumberText.Multiply(buffer, length, factor, ref value);
        Assert.That(decimal.Parse(buffer[..length], CultureInfo.InvariantCulture), Is.EqualTo(count * factor));
    }, iter: 20_000);
}
