using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Emulated.Tests.Bench;

internal sealed record ProxyOptions
{
    /// <summary>Of each piece from the host; null: none is held back.</summary>
    public Func<TimeSpan>? Toward { get; init; }
    /// <summary>Of each line from the device; null: none is held back.</summary>
    public Func<TimeSpan>? Back { get; init; }
    /// <summary>True: this line from the device is lost.</summary>
    public Func<string, bool>? Lose { get; init; }
    /// <summary>Called with each line from the device, on its arrival, before anything else happens to it.</summary>
    public Action<Proxy, string>? OnLine { get; init; }
}

/// <summary>A line that passed the proxy on the device's side: when its last byte was written, or its first byte was read.</summary>
internal readonly record struct Passed(HostTime At, string Text);

/// <summary>
/// Between host and device: a link on a link. Delays, loses, and stamps what passes on the device's side, and asks the device
/// questions of its own there, whose answers the host never sees. For a device that speaks lines.
/// </summary>
internal sealed class Proxy : ILink, ILinkReceiver
{
    /// <summary>
    /// Tokens of the proxy's own questions; the tool's are others (1 to 16 and 100 to 163). As short as those, since each character
    /// takes the emulator some µs; they come round again.
    /// </summary>
    public const uint FirstToken = 200, LastToken = 999;

    private readonly ILink _device;
    private readonly ProxyOptions _options;
    private readonly DelayQueue? _toward;
    private readonly DelayQueue? _back;
    private readonly Lock _writing = new();
    private readonly Lock _gate = new();
    private readonly List<Passed> _toDevice = [];
    private readonly List<Passed> _fromDevice = [];
    private readonly List<(HostTime At, uint Token)> _asked = [];
    private readonly StringBuilder _open = new();
    private HostTime _openSince;
    private ILinkReceiver? _host;
    private uint _nextToken = FirstToken;

    /// <param name="device">Owned by the proxy from here on.</param>
    public Proxy(ILink device, ProxyOptions options)
    {
        (_device, _options) = (device, options);
        if (options.Toward is { } toward) { _toward = new("toward the device", toward, bytes => Forward(bytes, LineTalk.Limit)); }
        if (options.Back is { } back) { _back = new("back from the device", back, bytes => _host!.OnReceived(bytes, Emulator.Clock.Now)); }
    }

    public string Name => _device.Name;

    /// <summary>Lines to the device, by when they were handed to it.</summary>
    public Passed[] ToDevice { get { lock (_gate) { return [.. _toDevice]; } } }

    /// <summary>Lines from the device, by the arrival of their first byte; the answers to the proxy's own questions among them.</summary>
    public Passed[] FromDevice { get { lock (_gate) { return [.. _fromDevice]; } } }

    /// <summary>When the proxy asked its own questions, just before each was handed over.</summary>
    public (HostTime At, uint Token)[] Asked { get { lock (_gate) { return [.. _asked]; } } }

    public void Start(ILinkReceiver receiver)
    {
        _host = receiver;
        _device.Start(this);
    }

    public HostTime Write(ReadOnlySpan<byte> bytes, TimeSpan limit)
    {
        HostTime at = Emulator.Clock.Now;
        if (_toward is null) { Forward(bytes, limit); }
        else { _toward.Add(bytes); }
        return at;
    }

    /// <summary>A line of the proxy's own to the device.</summary>
    public void Say(string line) => Forward(Encoding.ASCII.GetBytes(line + "\n"), LineTalk.Limit);

    /// <summary>Asks the device for its time, undelayed.</summary>
    public void AskTime()
    {
        lock (_writing)
        {
            uint token = _nextToken;
            _nextToken = token == LastToken ? FirstToken : token + 1;
            byte[] question = Encoding.ASCII.GetBytes(FormattableString.Invariant($"t {token}\n"));
            lock (_gate) { _asked.Add((Emulator.Clock.Now, token)); }
            _device.Write(question, LineTalk.Limit);
        }
    }

    public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
    {
        foreach (byte b in bytes)
        {
            if (_open.Length == 0) { _openSince = arrival; }
            if (b != (byte)'\n')
            {
                _open.Append((char)b);
                continue;
            }
            string line = _open.ToString();
            _open.Clear();
            lock (_gate) { _fromDevice.Add(new(_openSince, line)); }
            _options.OnLine?.Invoke(this, line);
            if (IsOwn(line) || _options.Lose?.Invoke(line) == true) { continue; }
            byte[] whole = Encoding.Latin1.GetBytes(line + "\n");
            if (_back is null) { _host!.OnReceived(whole, arrival); }
            else { _back.Add(whole); }
        }
    }

    public void OnLost(LinkException cause, HostTime at) => _host!.OnLost(cause, at);

    public void Dispose()
    {
        _toward?.Dispose();
        _device.Dispose();
        _back?.Dispose();
    }

    private void Forward(ReadOnlySpan<byte> bytes, TimeSpan limit)
    {
        lock (_writing)
        {
            try { _device.Write(bytes, limit); }
            catch (LinkException gone) when (_toward is not null)
            {
                // On the queue's thread, after the host let go of the link.
                _ = gone;
                return;
            }
            HostTime at = Emulator.Clock.Now;
            lock (_gate)
            {
                foreach (string line in Encoding.Latin1.GetString(bytes).Split('\n', StringSplitOptions.RemoveEmptyEntries)) { _toDevice.Add(new(at, line)); }
            }
        }
    }

    private static bool IsOwn(string line) =>
        line.StartsWith("t ", StringComparison.Ordinal) && uint.TryParse(line.Split(' ')[1], out uint token) && token is >= FirstToken and <= LastToken;
}
