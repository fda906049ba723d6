using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;

namespace HilRunner.Core.Documents;

/// <summary>Writes scalars so that reading gives back the same characters; half a surrogate pair, which UTF-8 cannot hold, becomes U+FFFD.</summary>
internal static partial class YamlText
{
    /// <summary>Plain where that is safe, else in double quotes (YAML 1.2.2, sections 7.3.1 and 5.7).</summary>
    public static string Inline(string text) =>
        PlainForm().IsMatch(text) && CoreSchema.KindOf(text) == ScalarKind.Text ? text : Quoted(text);

    /// <summary>A literal block, as people read it best; null when the text holds what such a block cannot hold.</summary>
    /// <param name="text">Lines ended by \n.</param>
    /// <param name="indent">Blanks before each line: two more than those before the key.</param>
    public static string? Block(string text, int indent)
    {
        if (string.IsNullOrWhiteSpace(text) || !text.EnumerateRunes().All(IsPrintable)) { return null; }
        // The scanner takes blanks before the first line with text for a wrong indentation, header or not.
        string opening = text[..(text.Length - text.TrimStart(' ', '\t', '\n').Length)];
        if (opening[..(opening.LastIndexOf('\n') + 1)].AsSpan().ContainsAny(' ', '\t')) { return null; }
        bool ends = text.EndsWith('\n');
        // The last line of a block ends in a line break that belongs to it only when the header keeps it.
        string chomp = !ends ? "-" : text.EndsWith("\n\n", StringComparison.Ordinal) ? "+" : "";
        string header = text[0] is ' ' or '\n' or '\t' ? $"|2{chomp}" : $"|{chomp}";
        string margin = new(' ', indent);
        var block = new StringBuilder(header).Append('\n');
        string body = ends ? text[..^1] : text;
        foreach (string line in body.Split('\n')) { block.Append(line.Length == 0 ? "" : margin).Append(line).Append('\n'); }
        return block.ToString();
    }

    /// <summary>What a block keeps as it is: no other line breaks (NEL, LS, PS), no control characters, no byte order mark.</summary>
    private static bool IsPrintable(Rune c) => c.Value is '\n' or '\t' or (>= ' ' and <= '~') or (>= 0xA0 and not (0x2028 or 0x2029 or 0xFEFF or 0xFFFE or 0xFFFF));

    private static string Quoted(string text)
    {
        var quoted = new StringBuilder("\"");
        foreach (Rune c in text.EnumerateRunes())
        {
            quoted.Append(c.Value switch
            {
                '"' => "\\\"",
                '\\' => "\\\\",
                '\n' => "\\n",
                '\r' => "\\r",
                '\t' => "\\t",
                _ when IsPrintable(c) => c.ToString(),
                _ => "\\U" + c.Value.ToString("X8", CultureInfo.InvariantCulture),
            });
        }
        return quoted.Append('"').ToString();
    }

    [GeneratedRegex(@"^[A-Za-z][A-Za-z0-9_./-]*\z", RegexOptions.CultureInvariant)]
    private static partial Regex PlainForm();
}
