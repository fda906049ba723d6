namespace HilRunner.Core.Runs;

/// <summary>
/// What was sent in a stretch was held up on its way to the device, and had arrived at the end of it at the latest. Times in ns
/// of the host since stimulus sample 0 was due, as in <see cref="PlayoutRow"/>.
/// </summary>
/// <param name="FromNs">First moment of sending.</param>
/// <param name="ToNs">After the last one.</param>
/// <param name="ByNs">When all of it had arrived.</param>
public readonly record struct HeldUp(long FromNs, long ToNs, long ByNs);
