using HilRunner.Core.Files;
using Spectre.Console;
using Spectre.Console.Rendering;

namespace HilRunner.Cli.Screen.Terminals;

/// <summary>
/// Text with colours as tables and lines take it. Any string becomes one, printable and never read as markup: nobody has to think
/// of it.
/// </summary>
#pragma warning disable RS0030 // The one place that hands text to the renderer.
internal readonly struct Styled
{
    private readonly (string Text, Style Style)[]? _parts;

    private Styled((string Text, Style Style)[] parts) => _parts = parts;

    private IReadOnlyList<(string Text, Style Style)> Parts => _parts ?? [];

    public static implicit operator Styled(string text) => In(text, Style.Plain);

    public static Styled operator +(Styled one, Styled other) => new([.. one.Parts, .. other.Parts]);

    /// <param name="style">Such as <c>Color.Red</c>; only repeats what the words say.</param>
    public static Styled In(string text, Style style) => new([(PrintableText.Line(text), style)]);

    /// <summary>One below the other.</summary>
    public static Styled Lines(IEnumerable<string> lines) =>
        new([(string.Join('\n', lines.Select(PrintableText.Line)), Style.Plain)]);

    /// <param name="end">What comes after it, such as a line break.</param>
    public IRenderable Rendered(string end = "")
    {
        var text = new Paragraph();
        foreach (var (part, style) in Parts) { text.Append(part, style); }
        return text.Append(end, Style.Plain);
    }
}
