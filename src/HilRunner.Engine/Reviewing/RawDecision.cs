using HilRunner.Core.Time;

namespace HilRunner.Engine.Reviewing;

/// <summary>A decision as decoded, before its place in stimulus time is known.</summary>
/// <param name="EarlierNs">How much earlier its first byte may have been there than the read that brought it was stamped.</param>
/// <param name="Epoch">Of the device's clock.</param>
internal readonly record struct RawDecision(
    string Class, string Output, long? N, DeviceTime? Device, double? Confidence, HostTime FirstByte, long EarlierNs, int Epoch);
