using HilRunner.Core.Time;

namespace HilRunner.Engine.Reviewing;

/// <summary>A decision as decoded, before its place in stimulus time is known.</summary>
/// <param name="ChunkNs">How much earlier its first byte may have arrived than the read that brought it returned: the bytes of that read on the wire.</param>
/// <param name="Epoch">Of the device's clock.</param>
internal readonly record struct RawDecision(
    string Class, string Output, long? N, DeviceTime? Device, double? Confidence, HostTime FirstByte, long ChunkNs, int Epoch);
