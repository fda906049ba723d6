using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Device.Tests;

/// <summary>The device's end of a link whose other end is the test: what the device wrote is waited for, never polled.</summary>
internal sealed class ScriptedLink(HostClock clock) : ILink
{
    private static readonly TimeSpan Limit = TimeSpan.FromSeconds(5);

    private readonly object _gate = new();
    private readonly MemoryStream _written = new();
    private readonly List<(HostTime At, string Text)> _writes = [];
    private ILinkReceiver? _receiver;

    public string Name => "scripted";
    public bool Disposed { get; private set; }

    public byte[] Bytes
    {
        get { lock (_gate) { return _written.ToArray(); } }
    }

    public string Text => Encoding.Latin1.GetString(Bytes);

    /// <summary>When each message was written.</summary>
    public (HostTime At, string Text)[] Writes
    {
        get { lock (_gate) { return [.. _writes]; } }
    }

    /// <summary>Whole lines so far.</summary>
    public string[] Lines => Text.Split('\n')[..^1];

    public void Start(ILinkReceiver receiver)
    {
        lock (_gate)
        {
            _receiver = receiver;
            Monitor.PulseAll(_gate);
        }
    }

    public HostTime Write(ReadOnlySpan<byte> bytes, TimeSpan limit)
    {
        HostTime at = clock.Now;
        lock (_gate)
        {
            _written.Write(bytes);
            _writes.Add((at, Encoding.Latin1.GetString(bytes)));
            Monitor.PulseAll(_gate);
        }
        return at;
    }

    public void Dispose()
    {
        lock (_gate)
        {
            Disposed = true;
            Monitor.PulseAll(_gate);
        }
    }

    /// <summary>Bytes to the device, as its link's reader would hand them over.</summary>
    /// <returns>When they arrived there.</returns>
    public HostTime Send(ReadOnlySpan<byte> bytes)
    {
        WaitFor(() => _receiver is not null, "the device listens");
        HostTime at = clock.Now;
        _receiver!.OnReceived(bytes, at);
        return at;
    }

    public HostTime Send(string lines) => Send(Encoding.Latin1.GetBytes(lines));

    public void Lose() => _receiver!.OnLost(new LinkException(LinkFault.Lost, "gone"), clock.Now);

    public void WaitForLine(string start) => WaitFor(() => Lines.Any(l => l.StartsWith(start, StringComparison.Ordinal)), $"a line '{start}'");

    public void WaitFor(Func<bool> condition, string what)
    {
        long end = TimeProvider.System.GetTimestamp() + (long)(Limit.TotalSeconds * TimeProvider.System.TimestampFrequency);
        lock (_gate)
        {
            while (!condition())
            {
                TimeSpan rest = TimeProvider.System.GetElapsedTime(TimeProvider.System.GetTimestamp(), end);
                if (rest <= TimeSpan.Zero || !Monitor.Wait(_gate, rest)) { Assert.Fail($"waited {Limit} for: {what}; heard:\n{Text}"); }
            }
        }
    }
}
