using System.Threading.Channels;
using HilRunner.Application;

namespace HilRunner.Cli.Screen.Terminals;

/// <summary>
/// Keys from the terminal, stamped as they come. Without a terminal there are none. The thread that waits for them ends with the process: a
/// read of the terminal cannot be called off.
/// </summary>
internal sealed class KeyReader : IKeys
{
    private const int MostWaiting = 256;
    private readonly Channel<KeyPress> _keys = Channel.CreateBounded<KeyPress>(MostWaiting);

    public static bool HasTerminal => !Console.IsInputRedirected && !Console.IsErrorRedirected;

    public static KeyReader Started()
    {
        var keys = new KeyReader();
        if (HasTerminal) { new Thread(keys.Read) { IsBackground = true, Name = "keys" }.Start(); }
        return keys;
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
                var press = new KeyPress(Composition.Context.UnixNow, key.KeyChar, key.Key.ToString());
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
