using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Shaking;

/// <summary>A talk by lines: one is sent, the next that comes is its answer. One thread at a time asks.</summary>
/// <param name="link">Disposed with this.</param>
/// <param name="who">As errors call the other end.</param>
/// <param name="log">Told every line either way; from several threads.</param>
/// <param name="unasked">Takes a line that answers nothing, as it comes; true: it was one. Called on the link's thread.</param>
internal sealed class LineTalk(string who, ILink link, HostClock clock, Action<string> log, Func<string, bool> unasked) : ILinkReceiver, IDisposable
{
    /// <summary>Characters: some thousand positions. What says more in one line is not understood, and is not cut.</summary>
    public const int LongestLine = 65_536;
    private const int Shown = 40;
    private static readonly TimeSpan s_write = TimeSpan.FromMilliseconds(200);
    private readonly object _heard = new();
    private readonly Queue<string> _lines = new();
    private readonly StringBuilder _line = new();
    private LinkException? _lost;
    private string? _tooLong;

    public string Who => who;

    public void Start() => link.Start(this);

    /// <summary>Sends a line and takes the next one as its answer.</summary>
    /// <param name="late">Lines that answer something else, and are passed over; null: there are none.</param>
    /// <exception cref="ShakerException">No answer in time, the link is lost, or a line was too long.</exception>
    public string Ask(string line, TimeSpan within, Func<string, bool>? late = null)
    {
        try
        {
            lock (_heard) { _lines.Clear(); }
            Send(line);
        }
        catch (LinkException fault) { throw new ShakerException($"{who}: {fault.Message}", fault); }
        HostTime end = clock.Now + within;
        lock (_heard)
        {
            while (true)
            {
                if (_tooLong is { } begins)
                {
                    // Told once: what is asked next, to stop, may well be answered.
                    _tooLong = null;
                    throw new ShakerException(
                        $"{who} said a line of more than {LongestLine} characters, which begins with \"{begins}\": let it say less in each line");
                }
                while (_lines.TryDequeue(out string? said))
                {
                    log($"  {said}");
                    if (late is null || !late(said)) { return said; }
                }
                if (_lost is { } lost) { throw new ShakerException($"{who}: the link is lost: {lost.Message}", lost); }
                long left = end - clock.Now;
                if (left <= 0) { throw new ShakerException($"{who}: no answer to {line} within {within.TotalMilliseconds:0} ms"); }
                Monitor.Wait(_heard, TimeSpan.FromMilliseconds(left / 1_000_000 + 1));
            }
        }
    }

    /// <exception cref="LinkException">It is lost, or takes nothing.</exception>
    public void Send(string line)
    {
        log($"> {line}");
        link.Write(Encoding.ASCII.GetBytes(line + "\n"), s_write);
    }

    /// <summary>Until something comes, or for so long.</summary>
    public void Wait(TimeSpan longest)
    {
        lock (_heard) { Monitor.Wait(_heard, longest); }
    }

    public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
    {
        lock (_heard)
        {
            foreach (byte b in bytes)
            {
                if (b == '\n')
                {
                    string line = _line.ToString();
                    _line.Clear();
                    if (!unasked(line)) { _lines.Enqueue(line); }
                }
                else if (b == '\r') { continue; }
                else if (_line.Length < LongestLine) { _line.Append((char)b); }
                else { _tooLong ??= _line.ToString(0, Shown); }
            }
            Monitor.PulseAll(_heard);
        }
    }

    public void OnLost(LinkException cause, HostTime at)
    {
        lock (_heard)
        {
            _lost = cause;
            Monitor.PulseAll(_heard);
        }
    }

    public void Dispose() => link.Dispose();
}
