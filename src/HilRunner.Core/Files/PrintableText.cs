using System.Globalization;
using System.Text;

namespace HilRunner.Core.Files;

/// <summary>
/// Text from outside (what devices, files and people say) as it may be printed: nothing in it can steer a terminal, hide, turn
/// the order of reading, or begin a line of its own. Such characters are shown as \u and four hexadecimal digits for each UTF-16
/// unit, as in JSON, so that JSON that is printed stays JSON.
/// </summary>
public static class PrintableText
{
    /// <summary>One line. Text that is printable already is returned as it is.</summary>
    public static string Line(string text) =>
        FirstOdd(text, keepLines: false) is var odd && odd < 0 ? text : Escaped(text, odd, keepLines: false);

    /// <summary>Several lines, ended by \n: those of the text stay, and the rest is treated as in one line.</summary>
    public static string Lines(string text) =>
        FirstOdd(text, keepLines: true) is var odd && odd < 0 ? text : Escaped(text, odd, keepLines: true);

    /// <summary>
    /// C0, DEL and C1; format characters (among them those that set the direction of writing, and those without width);
    /// separators of lines; halves of pairs; what stands for bytes that were no text.
    /// </summary>
    private static bool IsOdd(Rune rune) => rune.Value switch
    {
        < 0x20 => true,
        < 0x7F => false,
        0xFFFD => true,
        _ => Rune.GetUnicodeCategory(rune) is UnicodeCategory.Control or UnicodeCategory.Format
            or UnicodeCategory.LineSeparator or UnicodeCategory.ParagraphSeparator,
    };

    private static int FirstOdd(string text, bool keepLines)
    {
        for (int i = 0; i < text.Length;)
        {
            bool whole = Rune.TryGetRuneAt(text, i, out Rune rune);
            if (!whole || (IsOdd(rune) && !(keepLines && rune.Value == '\n'))) { return i; }
            i += rune.Utf16SequenceLength;
        }
        return -1;
    }

    private static string Escaped(string text, int from, bool keepLines)
    {
        var shown = new StringBuilder(text, 0, from, text.Length + 32);
        for (int i = from; i < text.Length;)
        {
            bool whole = Rune.TryGetRuneAt(text, i, out Rune rune);
            int length = whole ? rune.Utf16SequenceLength : 1;
            if (whole && (!IsOdd(rune) || (keepLines && rune.Value == '\n'))) { shown.Append(text, i, length); }
            else
            {
                for (int unit = i; unit < i + length; unit++)
                {
                    shown.Append(CultureInfo.InvariantCulture, $"\\u{(int)text[unit]:x4}");
                }
            }
            i += length;
        }
        return shown.ToString();
    }
}
