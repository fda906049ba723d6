using HilRunner.Core.Time;

namespace HilRunner.Device.Tests;

/// <summary>Keeps what a device was seen doing. Read it when the device has ended.</summary>
internal sealed class Witness : IDeviceObserver
{
    public List<(long N, HostTime At)> Consumed { get; } = [];
    public List<MadeDecision> Decided { get; } = [];
    public List<(MadeDecision Decision, HostTime FirstByte)> Sent { get; } = [];

    public void OnConsumed(long n, HostTime at) => Consumed.Add((n, at));

    public void OnDecided(in MadeDecision decision) => Decided.Add(decision);

    public void OnSent(in MadeDecision decision, HostTime firstByte) => Sent.Add((decision, firstByte));
}
