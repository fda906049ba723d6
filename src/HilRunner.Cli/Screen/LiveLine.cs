namespace HilRunner.Cli.Screen;

/// <summary>One line of a terminal that is written over and over; fits the terminal's width, and is gone after <see cref="Clear"/>.</summary>
internal sealed class LiveLine(TextWriter terminal)
{
    private const string EraseLine = "\r\x1b[2K";
    private readonly Lock _gate = new();
    private bool _cleared;

    public void Show(string text)
    {
        lock (_gate)
        {
            if (_cleared) { return; }
            int width = Math.Max(20, Width() - 1);
            terminal.Write(EraseLine + (text.Length <= width ? text : text[..(width - 1)] + "…"));
            terminal.Flush();
        }
    }

    public void Clear()
    {
        lock (_gate)
        {
            if (_cleared) { return; }
            _cleared = true;
            terminal.Write(EraseLine);
            terminal.Flush();
        }
    }

    private static int Width()
    {
        try { return Console.WindowWidth; }
        catch (IOException) { return 80; }
    }
}
