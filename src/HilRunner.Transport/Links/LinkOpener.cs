using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Ports;
using HilRunner.Transport.Posix;
using Polly;
using Polly.Retry;

namespace HilRunner.Transport.Links;

/// <summary>Opens links by their description. A port that is named by its USB identity is looked up anew each time.</summary>
/// <param name="builtin">Starts the virtual device and gives the host's end of its link.</param>
/// <param name="ports">Where ports are looked up; null: this machine.</param>
public sealed class LinkOpener(HostClock clock, Func<BuiltinLinkSpec, ILink> builtin, PortLister? ports = null) : ILinkOpener
{
    private static readonly TimeSpan RetryDelay = TimeSpan.FromMilliseconds(100);
    private readonly PortLister _ports = ports ?? new PortLister();

    /// <summary>One attempt.</summary>
    /// <exception cref="LinkException">Could not be opened: says which, why, and what to do.</exception>
    public ILink Open(LinkSpec spec) => spec switch
    {
        SerialLinkSpec serial when Libc.IsAvailable => new TerminalOpener(clock, _ports).OpenSerial(serial),
        SerialLinkSpec serial => SerialPortLink.Open(clock, serial, _ports),
        PtyLinkSpec pty => OpenPty(pty),
        TcpLinkSpec tcp => TcpLink.Connect(clock, tcp.Host, tcp.Port),
        ProcessLinkSpec process => ProcessLink.Run(clock, process.Program, process.Arguments),
        BuiltinLinkSpec virtualDevice => builtin(virtualDevice),
        _ => throw new LinkException(LinkFault.Unsupported, $"{spec.GetType().Name}: no such kind of link"),
    };

    /// <summary>
    /// Tries again, every 100 ms, while the port is missing, denied, busy or goes away again, as happens while a board
    /// re-enumerates; gives up with the last cause once <paramref name="limit"/> has passed. For preparing a rig, never inside a measured run.
    /// </summary>
    /// <exception cref="LinkException">Other faults at once; these after the limit.</exception>
    public ILink OpenWithRetry(LinkSpec spec, TimeSpan limit)
    {
        HostTime end = clock.Now + limit;
        var pipeline = new ResiliencePipelineBuilder { TimeProvider = clock.Provider }
            .AddRetry(new RetryStrategyOptions
            {
                // Of Denied, too: rights are set a moment after the node appears.
                ShouldHandle = new PredicateBuilder().Handle<LinkException>(e =>
                    e.Fault is LinkFault.Missing or LinkFault.Denied or LinkFault.Busy or LinkFault.Lost && clock.Now < end),
                MaxRetryAttempts = int.MaxValue,
                Delay = RetryDelay,
            })
            .Build();
        return pipeline.Execute(() => Open(spec));
    }

    public ILink? OpenLoop()
    {
        if (!Libc.IsAvailable) { return null; }
        try { return LoopLink.Open(clock, OpenPty); }
        catch (LinkException) { return null; }
    }

    private ILink OpenPty(PtyLinkSpec spec)
    {
        PosixOnly.Check(spec.Path);
        return new TerminalOpener(clock, _ports).OpenPty(spec);
    }
}
