using HilRunner.Core.Files;

namespace HilRunner.Cli.Screen;

/// <summary>
/// One line of a terminal that is written over and over; fits the terminal's width. A thread of its own writes it, and always the latest text:
/// a terminal that takes nothing (stopped by a key, or behind a slow connection) holds up nobody but <see cref="Dispose"/>.
/// </summary>
internal sealed class LiveLine : IDisposable
{
    private const string EraseLine = "\r\x1b[2K";
    private readonly TextWriter _terminal;
    private readonly Thread _thread;
    private readonly object _gate = new();
    private readonly Queue<string> _above = new();
    private string _text = "";
    private bool _changed;
    private bool _over;

    public LiveLine(TextWriter terminal)
    {
        _terminal = terminal;
        _thread = new(Write) { IsBackground = true, Name = "live line" };
        _thread.Start();
    }

    /// <summary>Takes the place of what was shown, or still waits to be. Empty: nothing is shown.</summary>
    public void Show(string text)
    {
        text = PrintableText.Line(text);
        lock (_gate)
        {
            if (text == _text) { return; }
            (_text, _changed) = (text, true);
            Monitor.Pulse(_gate);
        }
    }

    /// <summary>A line that stays, above the one that is written over.</summary>
    public void Above(string text)
    {
        lock (_gate)
        {
            _above.Enqueue(PrintableText.Line(text));
            _changed = true;
            Monitor.Pulse(_gate);
        }
    }

    /// <summary>Erases the line and waits until the terminal has taken that, so that what is written next stands alone.</summary>
    public void Dispose()
    {
        Show("");
        lock (_gate)
        {
            _over = true;
            Monitor.Pulse(_gate);
        }
        _thread.Join();
    }

    private void Write()
    {
        while (Next() is { } text)
        {
            int width = Math.Max(20, Width() - 1);
            try
            {
                foreach (string line in text.Above) { _terminal.WriteLine(EraseLine + line); }
                _terminal.Write(EraseLine + (text.Line.Length <= width ? text.Line : text.Line[..(width - 1)] + "…"));
                _terminal.Flush();
            }
            catch (IOException)
            {
                // The terminal is gone: whoever looked at it is, too, and the run goes on.
                return;
            }
        }
    }

    /// <summary>Waits for a text that was not written yet; null: there will be none.</summary>
    private (string[] Above, string Line)? Next()
    {
        lock (_gate)
        {
            while (!_changed)
            {
                if (_over) { return null; }
                Monitor.Wait(_gate);
            }
            _changed = false;
            string[] above = [.. _above];
            _above.Clear();
            return (above, _text);
        }
    }

    private static int Width()
    {
        try { return Console.WindowWidth; }
        catch (IOException) { return 80; }
    }
}
