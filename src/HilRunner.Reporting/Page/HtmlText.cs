using System.Globalization;
using System.Net;
using System.Runtime.CompilerServices;
using System.Text;

namespace HilRunner.Reporting.Page;

/// <summary>Finished markup: goes into a page as it is.</summary>
internal readonly record struct Markup(string Html)
{
    public static readonly Markup Empty = new("");

    /// <summary>Markup from an interpolated string: its holes are escaped, its literal parts are not.</summary>
    public static Markup Of(HtmlText text) => new(text.ToString());

    public static Markup Join(IEnumerable<Markup> parts) => new(string.Concat(parts.Select(p => p.Html)));
}

/// <summary>
/// An interpolated string that is HTML: literal parts are taken as they are, every hole is escaped. Numbers other than whole
/// ones do not compile here: they must have been given their digits and unit before.
/// </summary>
[InterpolatedStringHandler]
internal readonly struct HtmlText(int literalLength, int formattedCount)
{
    private readonly StringBuilder _text = new(literalLength + formattedCount * 12);

    public void AppendLiteral(string literal) => _text.Append(literal);
    public void AppendFormatted(string? value) => _text.Append(Escape(value));
    public void AppendFormatted(long value) => _text.Append(value.ToString(CultureInfo.InvariantCulture));
    public void AppendFormatted(ulong value) => _text.Append(value.ToString(CultureInfo.InvariantCulture));
    public void AppendFormatted(Markup value) => _text.Append(value.Html);
    public override string ToString() => _text.ToString();

    public static string Escape(string? text) => WebUtility.HtmlEncode(Visible(text ?? ""));

    /// <summary>
    /// Text from devices and files made harmless to look at: control characters become their pictures (U+2400 block), marks that
    /// turn the writing direction are spelled out, lone surrogates become U+FFFD. Line ends and tabs stay.
    /// </summary>
    public static string Visible(string text)
    {
        var visible = new StringBuilder(text.Length);
        for (int i = 0; i < text.Length; i++)
        {
            char c = text[i];
            switch (c)
            {
                case '\n' or '\t': visible.Append(c); break;
                case < ' ': visible.Append((char)(0x2400 + c)); break;
                case '\x7f': visible.Append('\u2421'); break;
                case (>= '\x80' and < '\xa0') or (>= '\u200b' and <= '\u200f') or (>= '\u2028' and <= '\u202e') or (>= '\u2060' and <= '\u206f') or '\ufeff':
                    visible.Append(CultureInfo.InvariantCulture, $"⟨U+{(int)c:X4}⟩");
                    break;
                default:
                    if (!char.IsSurrogate(c)) { visible.Append(c); break; }
                    bool pair = char.IsHighSurrogate(c) && i + 1 < text.Length && char.IsLowSurrogate(text[i + 1]);
                    if (pair) { visible.Append(c).Append(text[++i]); } else { visible.Append('\uFFFD'); }
                    break;
            }
        }
        return visible.ToString();
    }
}
