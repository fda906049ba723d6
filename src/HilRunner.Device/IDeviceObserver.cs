using HilRunner.Core.Time;

namespace HilRunner.Device;

/// <summary>
/// Is told what the device did and when, on the host's own clock: the truth that a tool's figures are held against. Called on
/// the device's thread; must not block.
/// </summary>
public interface IDeviceObserver
{
    /// <summary>A sample of a run was taken, right before it was classified.</summary>
    void OnConsumed(long n, HostTime at);

    /// <summary>A decision was made, and its time stamp taken.</summary>
    void OnDecided(in MadeDecision decision);

    /// <summary>Its message went to the link (after `link_out`): one that was lost or dropped before is never told.</summary>
    /// <param name="firstByte">When its first byte was handed over.</param>
    void OnSent(in MadeDecision decision, HostTime firstByte);
}

/// <param name="N">The sample that decided.</param>
/// <param name="At">When it was made: later than that sample by `think`.</param>
/// <param name="Microseconds">The device's own stamp of that moment.</param>
public readonly record struct MadeDecision(long N, string Class, HostTime At, uint Microseconds);
