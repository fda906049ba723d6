using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Links;

/// <summary>
/// The byte path of every link that has a POSIX descriptor: terminal, socket, pipe. One reader thread, writes on the caller's
/// thread. Closing wakes both through an event and closes the descriptors when the last call has left them.
/// </summary>
internal sealed unsafe class DescriptorLink : ILink
{
    /// <summary>How long <see cref="Dispose"/> waits for a receiver that is slow in its callback, and for unsent bytes.</summary>
    private static readonly TimeSpan CloseLimit = TimeSpan.FromMilliseconds(500);
    private readonly HostClock _clock;
    private readonly Descriptor _read;
    private readonly Descriptor _write;
    private readonly WakeEvent _wake = new();
    private readonly Func<Errno, LinkException> _describeLoss;
    private DescriptorReader? _reader;
    private volatile LinkException? _lost;
    private int _disposed;

    /// <param name="read">Non-blocking; owned by the link from here on. May be the same object as <paramref name="write"/>.</param>
    /// <param name="describeLoss">Words for a loss that the reader sees; null for the usual ones.</param>
    public DescriptorLink(string name, HostClock clock, Descriptor read, Descriptor write, Func<Errno, LinkException>? describeLoss = null)
    {
        (Name, _clock, _read, _write) = (name, clock, read, write);
        _describeLoss = describeLoss ?? (error => LinkErrors.Lost(name, error));
    }

    public DescriptorLink(string name, HostClock clock, Descriptor both) : this(name, clock, both, both) { }

    public string Name { get; }

    public void Start(ILinkReceiver receiver)
    {
        var reader = new DescriptorReader(Name, _read, _wake, _clock, receiver, error => _lost = _describeLoss(error));
        if (Interlocked.CompareExchange(ref _reader, reader, null) is not null) { throw new InvalidOperationException($"{Name} is started already"); }
        if (!reader.TryStart()) { throw new ObjectDisposedException(Name); }
    }

    public HostTime Write(ReadOnlySpan<byte> bytes, TimeSpan limit)
    {
        if (_lost is { } cause) { throw new LinkException(LinkFault.Lost, cause.Message, cause); }
        try { return DescriptorWriter.Write(_write, _wake, _clock, Name, bytes, limit); }
        catch (LinkException lost) when (lost.Fault == LinkFault.Lost && !_wake.IsSet)
        {
            // The reader may know more (an exit code); it reports for itself.
            _lost ??= lost;
            throw;
        }
    }

    public void Dispose()
    {
        if (Interlocked.Exchange(ref _disposed, 1) != 0) { return; }
        _wake.Set();
        _reader?.Join(CloseLimit);
        DrainOutput();
        _write.Dispose();
        _read.Dispose();
        _wake.Dispose();
    }

    /// <summary>
    /// Closing a serial port waits for its unsent bytes, up to half a minute when flow control holds them. So they get a short
    /// time here and are dropped after it. A pseudo-terminal has none.
    /// </summary>
    private void DrainOutput()
    {
        if (_lost is not null || !_write.TryHold()) { return; }
        if (Termios2.Get(_write.Number, out _) == Errno.None)
        {
            const int TickMs = 2;
            // No event says "all sent"; nothing sets this one.
            using var tick = new ManualResetEventSlim();
            int unsent = 0;
            int ticksLeft = (int)CloseLimit.TotalMilliseconds / TickMs;
            while (Libc.Ioctl(_write.Number, Libc.TIOCOUTQ, &unsent) == 0 && unsent > 0 && ticksLeft-- > 0) { tick.Wait(TickMs); }
            if (unsent > 0) { _ = Libc.Ioctl(_write.Number, Libc.TCFLSH, (void*)Libc.TCOFLUSH); }
        }
        _write.DangerousRelease();
    }
}
