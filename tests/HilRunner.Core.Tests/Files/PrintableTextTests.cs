using System.Globalization;
using System.Text;
using System.Text.Json;
using CsCheck;
using HilRunner.Core.Files;

namespace HilRunner.Core.Tests.Files;

[Parallelizable]
public class PrintableTextTests
{
    [TestCase("plain, with ü, 漢 and 🙂", "plain, with ü, 漢 and 🙂")]
    [TestCase("\e[2J\a\u007f", @"\u001b[2J\u0007\u007f")]
    [TestCase("\u009b31m", @"\u009b31m")]
    [TestCase("a\u202eb\u2066c\u200bd\ufeffe\u00adf", @"a\u202eb\u2066c\u200bd\ufeffe\u00adf")]
    [TestCase("a\nb\r\tc\u2028d", @"a\u000ab\u000d\u0009c\u2028d")]
    [TestCase("\U000E0041", @"\udb40\udc41")]
    [TestCase("bytes that were no text: \ufffd", @"bytes that were no text: \ufffd")]
    public void OfOneLine(string text, string shown) => Assert.That(PrintableText.Line(text), Is.EqualTo(shown));

    /// <summary>Not among the cases above: attributes are kept as UTF-8, which has none.</summary>
    [Test]
    public void HalvesOfPairs() =>
    Assert.That(PrintableText.Line("\ud800x\udc00\ud83d\ude42"), Is.EqualTo("\\ud800x\\udc00\ud83d\ude42"));

    [Test]
    public void LinesOfADocumentStay() =>
    Assert.That(PrintableText.Lines("{\n  \"a\e\": 1\r\n}\n"), Is.EqualTo("{\n  \"a\\u001b\": 1\\u000d\n}\n"));

    [Test]
    public void TextThatIsPrintableIsNotCopied()
    {
        string text = new('x', 100);
        Assert.That(PrintableText.Line(text), Is.SameAs(text));
    }

    /// <summary>The slow twin: every code point alone.</summary>
    [Test]
    public void EveryCodePoint()
    {
        for (int value = 0; value <= 0x10FFFF; value++)
        {
            if (value is >= 0xD800 and <= 0xDFFF) { continue; }
            string text = char.ConvertFromUtf32(value);
            bool odd = CharUnicodeInfo.GetUnicodeCategory(value) is UnicodeCategory.Control or UnicodeCategory.Format
                or UnicodeCategory.LineSeparator or UnicodeCategory.ParagraphSeparator || value == 0xFFFD;
            string expected = odd ? string.Concat(text.Select(c => $"\\u{(int)c:x4}")) : text;
            if (PrintableText.Line(text) != expected) { Assert.Fail($"U+{value:X4}: {PrintableText.Line(text)}"); }
        }
    }

    /// <summary>Whatever it is: nothing of it can steer, nothing of it is lost, and what is made twice is as made once.</summary>
    [Test]
    public void AnyText() => Gen.Char.Array[0, 40].Select(c => new string(c)).Sample(text =>
    {
        string shown = PrintableText.Line(text);
        Assert.That(
            shown.EnumerateRunes()
            .All(r => r.Value is >= 0x20 and not 0x7f and not 0xFFFD
                && Rune.GetUnicodeCategory(r) is not (UnicodeCategory.Control or UnicodeCategory.Format)), shown);
        Assert.That(PrintableText.Line(shown), Is.EqualTo(shown));
    });

    /// <summary>JSON stays JSON, and says the same, where its strings hold such characters as they are.</summary>
    [Test]
    public void JsonStaysJson()
    {
        const string text = "\u007f\u009b\u202e\u2066\ufeff\U000E0041]";
        string json = $"{{\n  \"a\": \"{text}\"\n}}";
        Assert.That(JsonDocument.Parse(PrintableText.Lines(json)).RootElement.GetProperty("a").GetString(), Is.EqualTo(text));
    }
}
