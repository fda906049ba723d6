using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Engine.Pacing;

namespace HilRunner.Engine.Playing;

/// <summary>
/// Measures how late this host stamps what arrives, in the same run and on the same road: now and then, at any phase between two
/// samples that leaves time before the next, it sends one byte to itself through the system's terminal driver. A type A evaluation
/// (JCGM 100:2008, 4.2) of the one thing about an arrival that cannot be seen in it.
/// </summary>
public sealed class StampProbe : ILinkReceiver, IDisposable
{
    private const long EveryNs = 20_000_000;
    /// <summary>
    /// Time that must be left until the next sample: many times what a byte takes to be written and read, so that neither holds up the
    /// sample. With 100 µs, decision latencies were twice as uncertain as with 400.
    /// </summary>
    private const long NeededNs = 400_000;
    /// <summary>The golden section: its multiples fill the time between two samples evenly (Knuth, The Art of Computer Programming 3, 6.4).</summary>
    private const double PhaseStep = 0.6180339887498949;
    private static readonly TimeSpan s_limit = TimeSpan.FromSeconds(1);

    private readonly ILink _loop;
    private readonly HostClock _clock;
    private readonly byte[] _byte = [0];
    private readonly LatenessHistogram _late = new();
    private long _sentNs;
    private bool _warm;
    private HostTime _next;
    private double _phase;

    private StampProbe(ILink loop, HostClock clock) => (_loop, _clock) = (loop, clock);

    /// <summary>Null where the system has no terminals of its own.</summary>
    public static StampProbe? Open(ILinkOpener links, HostClock clock)
    {
        if (links.OpenLoop() is not { } loop) { return null; }
        var probe = new StampProbe(loop, clock);
        loop.Start(probe);
        return probe;
    }

    /// <summary>Whether the last byte is long enough ago.</summary>
    public bool IsDue => _clock.Now >= _next;

    /// <summary>
    /// When to send the next byte, on the host's clock; null: not before the next sample or poll. A device answers at any phase, and
    /// right after a sample the host is quicker than right before one, when the pacing thread spins.
    /// </summary>
    /// <param name="nextNs">When the pacing thread has to send again, on the host's clock.</param>
    public HostTime? MomentBefore(long nextNs)
    {
        HostTime now = _clock.Now;
        long room = nextNs - NeededNs - now.Ns;
        if (now < _next || room < 0) { return null; }
        _phase = (_phase + PhaseStep) % 1;
        return new(now.Ns + (long)(_phase * Math.Min(room, EveryNs)));
    }

    /// <summary>Sends a byte, unless the last one has not come back yet. The first one only warms up.</summary>
    /// <exception cref="LinkException">The loop is gone.</exception>
    public void Send()
    {
        _next = new(_clock.Now.Ns + EveryNs);
        if (Interlocked.Read(ref _sentNs) != 0) { return; }
        Interlocked.Exchange(ref _sentNs, _clock.Now.Ns);
        _loop.Write(_byte, s_limit);
    }

    /// <summary>
    /// Ends the probe: how late a stamp is at most, in the given share of cases, ns. Null: none was measured. From few bytes the greatest
    /// is taken: the next value is below the k-th of n with probability k / (n + 1), whatever the distribution (Wilks 1941).
    /// </summary>
    public long? Close(double share)
    {
        _loop.Dispose();
        return _late.Count == 0 ? null : _late.Quantile(Math.Min(1, share * (_late.Count + 1) / _late.Count));
    }

    public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
    {
        long sent = Interlocked.Exchange(ref _sentNs, 0);
        if (sent == 0) { return; }
        if (_warm) { _late.Add(Math.Max(0, arrival.Ns - sent)); }
        _warm = true;
    }

    public void OnLost(LinkException cause, HostTime at)
    {
    }

    public void Dispose() => _loop.Dispose();
}
