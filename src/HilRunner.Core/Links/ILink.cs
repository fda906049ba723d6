using HilRunner.Core.Time;

namespace HilRunner.Core.Links;

/// <summary>
/// A byte channel to a device. One reader thread stamps bytes on arrival and hands them over; writes keep their order and
/// nothing is dropped. Disposing never hangs, whatever happened to the other end, and ends the reader thread.
/// </summary>
public interface ILink : IDisposable
{
    /// <summary>What a person would call it: the path, the address or the program.</summary>
    string Name { get; }

    /// <summary>Starts the reader thread. Called once, before the first write that expects an answer.</summary>
    void Start(ILinkReceiver receiver);

    /// <summary>
    /// Hands all bytes to the operating system, in order, waiting while the other end does not take them.
    /// Returns the time at which the first byte was handed over. Safe from one writer thread at a time.
    /// </summary>
    /// <exception cref="LinkException">Lost: the other end is gone. WriteTimeout: not taken within the limit.</exception>
    HostTime Write(ReadOnlySpan<byte> bytes, TimeSpan limit);
}

/// <summary>Called on the link's reader thread; must not block for long and must not throw.</summary>
public interface ILinkReceiver
{
    /// <param name="bytes">Valid only during the call.</param>
    /// <param name="arrival">When the read that brought these bytes returned.</param>
    void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival);

    /// <summary>The other end is gone; called at most once, after the last bytes.</summary>
    void OnLost(LinkException cause, HostTime at);
}

/// <summary>Opens links by their description. Retries belong here, never inside a measured run.</summary>
public interface ILinkOpener
{
    /// <exception cref="LinkException">Could not be opened: says which, why, and what to do.</exception>
    ILink Open(LinkSpec spec);

    /// <summary>Keeps trying for a while what may come back: a board that re-enumerates after an unplug or a reset.</summary>
    /// <exception cref="LinkException">Not there after <paramref name="limit"/>, or a fault that waiting does not mend.</exception>
    ILink OpenWithRetry(LinkSpec spec, TimeSpan limit);

    /// <summary>
    /// A link of the system's terminal driver whose bytes come back to its own reader: it shows how late this host stamps what
    /// arrives. Null where the system has no such thing.
    /// </summary>
    ILink? OpenLoop();
}

public enum LinkFault { Missing, Denied, Busy, WrongKind, Ambiguous, Unsupported, Lost, WriteTimeout }

/// <summary>A link could not be opened or was lost. The message says what, where, what was expected and what to do.</summary>
public sealed class LinkException(LinkFault fault, string message, Exception? inner = null) : Exception(message, inner)
{
    public LinkFault Fault { get; } = fault;
}
