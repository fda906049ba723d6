using System.Text;
using HilRunner.Core.Files;

namespace HilRunner.Cli.Screen;

/// <summary>A few lines at the bottom of a terminal that are written over and over, in one write each time so that nothing flickers.</summary>
internal sealed class LiveBlock(TextWriter terminal)
{
    private int _drawn;

    /// <param name="lines">Each is cut to the terminal's width.</param>
    public void Show(IReadOnlyList<StyledLine> lines)
    {
        int width = Math.Max(20, Width() - 1);
        var text = new StringBuilder();
        if (_drawn > 0) { text.Append('\r').Append($"\x1b[{_drawn}A"); }
        foreach (var line in lines) { text.Append("\x1b[2K").Append(line.Render(width)).Append('\n'); }
        // A block that has become shorter: what is left of it goes.
        if (_drawn > lines.Count) { text.Append("\x1b[J"); }
        _drawn = lines.Count;
        terminal.Write(text.ToString());
        terminal.Flush();
    }

    /// <summary>A line that stays, above the block.</summary>
    public void Say(string text)
    {
        text = PrintableText.Line(text);
        terminal.Write(_drawn > 0 ? $"\r\x1b[{_drawn}A\x1b[J{text}\n" : text + "\n");
        terminal.Flush();
        _drawn = 0;
    }

    public void Clear()
    {
        if (_drawn == 0) { return; }
        terminal.Write($"\r\x1b[{_drawn}A\x1b[J");
        terminal.Flush();
        _drawn = 0;
    }

    /// <summary>Lines of the terminal; a block must be shorter.</summary>
    public static int Height()
    {
        try { return Console.WindowHeight > 0 ? Console.WindowHeight : 24; }
        catch (IOException) { return 24; }
    }

    public static int Width()
    {
        try { return Console.WindowWidth > 0 ? Console.WindowWidth : 80; }
        catch (IOException) { return 80; }
    }
}

/// <summary>How a line looks; without colour it says the same.</summary>
internal enum LineStyle { Plain, Bold, Loud, Quiet }

/// <summary>A line of a <see cref="LiveBlock"/>.</summary>
internal readonly record struct StyledLine(string Text, LineStyle Style = LineStyle.Plain)
{
    private static readonly bool s_plain = Environment.GetEnvironmentVariable("NO_COLOR") is { Length: > 0 };

    public static implicit operator StyledLine(string text) => new(text);

    public string Render(int width)
    {
        string text = PrintableText.Line(Text);
        if (text.Length > width) { text = text[..(width - 1)] + "…"; }
        if (Style == LineStyle.Loud) { text = text.PadRight(width); }
        // Bold and reversed are no colours; dimmed text counts as one.
        return Style switch
        {
            LineStyle.Bold => $"\x1b[1m{text}\x1b[0m",
            LineStyle.Loud => $"\x1b[1;7m{text}\x1b[0m",
            LineStyle.Quiet when !s_plain => $"\x1b[2m{text}\x1b[0m",
            _ => text,
        };
    }
}
