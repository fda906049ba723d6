using HilRunner.Core.Time;

namespace HilRunner.Transport.Framing;

/// <summary>
/// Finds the frames in a stream of bytes that comes in chunks of any size. Bounded by the framing's longest frame; allocates
/// nothing per frame; garbage is counted, never an exception. One stream, one thread.
/// </summary>
public abstract class Deframer
{
    public abstract FrameCounts Counts { get; }

    /// <summary>Bytes taken in that are not yet part of anything.</summary>
    public abstract int Pending { get; }

    /// <param name="arrival">When the read that brought these bytes returned.</param>
    public abstract void Feed(ReadOnlySpan<byte> bytes, HostTime arrival, IFrameSink sink);
}
