using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Emulated.Tests.Bench;

/// <summary>Says lines to a device and keeps the lines that it says, each with the arrival of its last byte.</summary>
internal sealed class LineTalk : ILinkReceiver
{
    private readonly ILink _link;
    private readonly object _gate = new();
    private readonly List<(string Text, HostTime At)> _lines = [];
    private readonly StringBuilder _open = new();
    private LinkException? _lost;

    public LineTalk(ILink link)
    {
        _link = link;
        link.Start(this);
    }

    public static TimeSpan Limit { get; } = TimeSpan.FromSeconds(10);

    public string[] Lines { get { lock (_gate) { return [.. _lines.Select(l => l.Text)]; } } }

    public (string Text, HostTime At)[] Stamped { get { lock (_gate) { return [.. _lines]; } } }

    public HostTime Say(string text) => _link.Write(Encoding.Latin1.GetBytes(text), Limit);

    public HostTime Say(byte[] bytes) => _link.Write(bytes, Limit);

    /// <summary>Waits for a further line, after the first <paramref name="after"/> ones, that starts so, and gives its place.</summary>
    public int WaitFor(string start, int after = 0) =>
        Wait(() => _lines.FindIndex(Math.Min(after, _lines.Count), l => l.Text.StartsWith(start, StringComparison.Ordinal)), $"a line \"{start}…\"");

    /// <summary>Says it and waits for a line that starts so; gives the line.</summary>
    public string Ask(string text, string start)
    {
        int before = Lines.Length;
        Say(text);
        int place = WaitFor(start, before);
        return Lines[place];
    }

    /// <summary>Waits for the banner that every start says.</summary>
    public void WaitForBanner() => WaitFor("boot ");

    public LinkException WaitForLoss()
    {
        Wait(() => _lost is null ? -1 : 0, "the end of the link");
        return _lost!;
    }

    public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
    {
        lock (_gate)
        {
            foreach (byte b in bytes)
            {
                if (b != (byte)'\n')
                {
                    _open.Append((char)b);
                    continue;
                }
                // An empty line means nothing: one stands before a banner.
                if (_open.Length > 0) { _lines.Add((_open.ToString(), arrival)); }
                _open.Clear();
            }
            Monitor.PulseAll(_gate);
        }
    }

    public void OnLost(LinkException cause, HostTime at)
    {
        lock (_gate)
        {
            _lost = cause;
            Monitor.PulseAll(_gate);
        }
    }

    private int Wait(Func<int> place, string what)
    {
        HostTime end = Emulator.Clock.Now + Limit;
        lock (_gate)
        {
            int found;
            while ((found = place()) < 0)
            {
                long leftMs = (end - Emulator.Clock.Now) / 1_000_000;
                if (leftMs <= 0)
                {
                    Assert.Fail($"waited {Limit.TotalSeconds} s for {what}; {_lines.Count} lines came, the last: {string.Join(" | ", _lines.TakeLast(5).Select(l => l.Text))}{(_lost is null ? "" : "; lost: " + _lost.Message)}");
                }
                Monitor.Wait(_gate, (int)Math.Min(leftMs + 1, 1000));
            }
            return found;
        }
    }
}
