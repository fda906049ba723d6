using System.Diagnostics.CodeAnalysis;
using System.IO.Ports;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Ports;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Links;

/// <summary>
/// The byte path through System.IO.Ports, for systems without <see cref="DescriptorLink"/>. It is slower by far (milliseconds
/// a call on Linux) and cannot really leave DTR alone; the contract of a link is kept all the same. What that package does after
/// the other end vanished (a Close that hangs) is kept away from the caller: closing happens on a thread of its own.
/// </summary>
public sealed class SerialPortLink : ILink
{
    private const int BufferBytes = 64 * 1024;
    private static readonly TimeSpan CloseLimit = TimeSpan.FromMilliseconds(500);
    /// <summary>The runtime's timers count coarse ticks (4 ms on Linux) and may be early by one; a limit must not be.</summary>
    private static readonly TimeSpan TimerGrain = TimeSpan.FromMilliseconds(5);
    private readonly HostClock _clock;
    private readonly SerialPort _port;
    private readonly Stream _stream;
    /// <summary>Cancelled when the link is closed or lost; never disposed, for a write may look at it at any time.</summary>
    private readonly CancellationTokenSource _end = new();
    private Thread? _reader;
    private volatile bool _closing;
    private volatile LinkException? _lost;
    private int _disposed;

    private SerialPortLink(HostClock clock, SerialPort port) => (_clock, _port, _stream) = (clock, port, port.BaseStream);

    public string Name => _port.PortName;

    /// <exception cref="LinkException"/>
    public static SerialPortLink Open(HostClock clock, SerialLinkSpec spec, PortLister lister)
    {
        SerialSettings.Check(spec);
        string path = PortSelector.Resolve(spec.Port, lister);
        if (Libc.IsAvailable) { PortAccess.Check(path, lister); }
        // Systems raise both lines when a port is opened; to raise them again is the nearest this package comes to leaving them.
        if (TryOpen(clock, spec, path, raiseLines: true, out SerialPortLink? link) || TryOpen(clock, spec, path, raiseLines: false, out link)) { return link; }
        throw new LinkException(LinkFault.Unsupported, $"{path}: the port does not accept its settings; see serial in the rig file");
    }

    public void Start(ILinkReceiver receiver)
    {
        var reader = new Thread(() => Run(receiver)) { Name = $"reader of {Name}", IsBackground = true };
        if (Interlocked.CompareExchange(ref _reader, reader, null) is not null) { throw new InvalidOperationException($"{Name} is started already"); }
        reader.Start();
    }

    public HostTime Write(ReadOnlySpan<byte> bytes, TimeSpan limit)
    {
        WriteLimit.Check(limit);
        if (_lost is { } cause) { throw new LinkException(LinkFault.Lost, cause.Message, cause); }
        if (_closing) { throw LinkErrors.Closed(Name); }
        HostTime first = _clock.Now;
        // A synchronous write is not woken by a loss in every case; a cancelled one is.
        using var limitReached = new CancellationTokenSource(limit == Timeout.InfiniteTimeSpan ? limit : limit + TimerGrain, _clock.Provider);
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(limitReached.Token, _end.Token);
        try
        {
            _stream.WriteAsync(bytes.ToArray(), stop.Token).AsTask().GetAwaiter().GetResult();
            return first;
        }
        catch (OperationCanceledException) when (limitReached.IsCancellationRequested && !_end.IsCancellationRequested)
        {
            throw LinkErrors.WriteTimeout(Name, null, bytes.Length, limit);
        }
        catch (Exception e) when (IsEnd(e)) { throw _closing ? LinkErrors.Closed(Name) : Lose(); }
    }

    public void Dispose()
    {
        if (Interlocked.Exchange(ref _disposed, 1) != 0) { return; }
        _closing = true;
        _end.Cancel();
        // Close hangs for good once a write was tried after the other end vanished; then this thread is left behind.
        var closer = new Thread(CloseQuietly) { Name = $"closer of {Name}", IsBackground = true };
        closer.Start();
        closer.Join(CloseLimit);
        if (_reader is { } reader && reader != Thread.CurrentThread) { reader.Join(CloseLimit); }
    }

    private static bool TryOpen(HostClock clock, SerialLinkSpec spec, string path, bool raiseLines, [NotNullWhen(true)] out SerialPortLink? link)
    {
        var port = new SerialPort(path, spec.Baud)
        {
            DataBits = spec.DataBits,
            // The two enumerations have the same values.
            Parity = (Parity)spec.Parity,
            StopBits = spec.StopBits switch { 1.5 => StopBits.OnePointFive, 2 => StopBits.Two, _ => StopBits.One },
            Handshake = spec.Handshake switch
            {
                SerialHandshake.RtsCts => Handshake.RequestToSend,
                SerialHandshake.XonXoff => Handshake.XOnXOff,
                _ => Handshake.None,
            },
        };
        link = null;
        try
        {
            port.DtrEnable = spec.Dtr == LineState.On || (spec.Dtr == LineState.Leave && raiseLines);
            if (spec.Handshake != SerialHandshake.RtsCts) { port.RtsEnable = spec.Rts == LineState.On || (spec.Rts == LineState.Leave && raiseLines); }
            port.Open();
            link = new(clock, port);
            return true;
        }
        catch (UnauthorizedAccessException e)
        {
            port.Dispose();
            throw new LinkException(LinkFault.Busy, $"{path} cannot be opened: missing, in use by another program, or no permission; see which with `hil ports`", e);
        }
        catch (Exception e) when (e is IOException or ArgumentException)
        {
            port.Dispose();
            return false;
        }
    }

    private void Run(ILinkReceiver receiver)
    {
        byte[] buffer = new byte[BufferBytes];
        while (!_closing)
        {
            try
            {
                int count = _stream.Read(buffer, 0, buffer.Length);
                HostTime arrival = _clock.Now;
                if (count == 0) { break; }
                receiver.OnReceived(buffer.AsSpan(0, count), arrival);
            }
            catch (TimeoutException) { continue; }
            catch (Exception e) when (IsEnd(e)) { break; }
        }
        if (!_closing)
        {
            HostTime at = _clock.Now;
            receiver.OnLost(Lose(), at);
        }
    }

    private LinkException Lose()
    {
        _lost ??= LinkErrors.Lost(Name, Errno.EIO);
        _end.Cancel();
        return _lost;
    }

    private void CloseQuietly()
    {
        try { _port.Close(); }
        catch (Exception e) when (IsEnd(e)) { return; }
    }

    private static bool IsEnd(Exception e) =>
        e is IOException or ObjectDisposedException or InvalidOperationException or OperationCanceledException or UnauthorizedAccessException;
}
