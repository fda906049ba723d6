using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Device;

namespace HilRunner.Engine.Tests.Truth;

/// <summary>Opens the virtual device, and keeps when each decision of it was made and when its message was handed to the link.</summary>
internal sealed class Witness(HostClock clock) : ILinkOpener, IDeviceObserver
{
    /// <summary>In the order of sending. To be read when the link is closed.</summary>
    public List<(MadeDecision Decision, HostTime FirstByte)> Sent { get; } = [];

    public DeviceCounters? Counters => _link?.Device.Counters;

    private BuiltinLink? _link;

    public ILink Open(LinkSpec spec) => _link = BuiltinLink.Open((BuiltinLinkSpec)spec, clock, this);

    public ILink OpenWithRetry(LinkSpec spec, TimeSpan limit) => Open(spec);

    public void OnConsumed(long n, HostTime at)
    {
    }

    public void OnDecided(in MadeDecision decision)
    {
    }

    public void OnSent(in MadeDecision decision, HostTime firstByte) => Sent.Add((decision, firstByte));
}
