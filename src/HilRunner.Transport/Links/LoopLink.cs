using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Transport.Links;

/// <summary>A new pseudo-terminal of our own at both ends: what is written comes back to the link's own reader, as a device's bytes would.</summary>
internal sealed class LoopLink : ILink
{
    private readonly PtyHost _far;
    private readonly ILink _near;

    private LoopLink(PtyHost far, ILink near) => (_far, _near) = (far, near);

    public string Name => $"loop ({_far.Path})";

    /// <exception cref="LinkException">This system has no pseudo-terminals, or no more of them.</exception>
    public static LoopLink Open(HostClock clock, Func<PtyLinkSpec, ILink> open)
    {
        PtyHost far = PtyHost.Create(clock);
        try { return new(far, open(new(far.Path))); }
        catch (LinkException)
        {
            far.Dispose();
            throw;
        }
    }

    public void Start(ILinkReceiver receiver) => _near.Start(receiver);

    public HostTime Write(ReadOnlySpan<byte> bytes, TimeSpan limit) => _far.Write(bytes, limit);

    public void Dispose()
    {
        _near.Dispose();
        _far.Dispose();
    }
}
