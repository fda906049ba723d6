using System.Threading.Channels;
using HilRunner.Core.Time;

namespace HilRunner.Cli.Recorders;

/// <summary>A key and when it was pressed, in nanoseconds since the Unix epoch, as the captures count.</summary>
internal readonly record struct KeyPress(HostTime At, ConsoleKeyInfo Key);

/// <summary>
/// Keys from the terminal, stamped as they come. Without a terminal there are none. The thread that waits for them ends with the process: a
/// read of the terminal cannot be called off.
/// </summary>
internal sealed class KeyReader
{
    private const int MostWaiting = 256;
    private readonly Channel<KeyPress> _keys = Channel.CreateBounded<KeyPress>(MostWaiting);

    public static bool HasTerminal => !Console.IsInputRedirected && !Console.IsErrorRedirected;

    public void Start()
    {
        if (!HasTerminal) { return; }
        new Thread(Read) { IsBackground = true, Name = "keys" }.Start();
    }

    /// <summary>The next one that was pressed; false: none is waiting.</summary>
    public bool TryRead(out KeyPress key) => _keys.Reader.TryRead(out key);

    private void Read()
    {
        try
        {
            while (true)
            {
                ConsoleKeyInfo key = Console.ReadKey(intercept: true);
                var press = new KeyPress(new(Composition.Clock.ToUnixNs(Composition.Clock.Now)), key);
                // Full: what is typed waits in the terminal.
                if (!_keys.Writer.TryWrite(press)) { _keys.Writer.WriteAsync(press).AsTask().Wait(); }
            }
        }
        catch (Exception gone) when (gone is IOException or InvalidOperationException)
        {
            // The terminal was closed: there are no more keys, and what is under way goes on without.
        }
    }
}
