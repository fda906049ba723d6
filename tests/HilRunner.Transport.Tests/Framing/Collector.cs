using HilRunner.Core.Time;
using HilRunner.Transport.Framing;

namespace HilRunner.Transport.Tests.Framing;

internal sealed class Collector : IFrameSink
{
    public List<byte[]> Bodies { get; } = [];
    public List<(long First, long Last, int Length)> Stamps { get; } = [];

    public void OnFrame(ReadOnlySpan<byte> body, HostTime firstByte, HostTime lastByte, int wireLength)
    {
        Bodies.Add(body.ToArray());
        Stamps.Add((firstByte.Ns, lastByte.Ns, wireLength));
    }

    /// <summary>Feeds in chunks of the given lengths, over and over; the arrival is the number of bytes fed before the chunk.</summary>
    public static Collector Feed(Deframer deframer, ReadOnlySpan<byte> stream, params int[] chunks)
    {
        var collector = new Collector();
        int at = 0;
        for (int i = 0; at < stream.Length; i++)
        {
            int length = Math.Min(chunks.Length == 0 ? stream.Length : chunks[i % chunks.Length], stream.Length - at);
            deframer.Feed(stream.Slice(at, length), new(at), collector);
            at += length;
        }
        FrameCounts counts = deframer.Counts;
        Assert.That(counts.BytesInFrames + counts.BytesDiscarded + counts.BytesIdle + deframer.Pending, Is.EqualTo(stream.Length), "every byte is accounted for");
        Assert.That(counts.Frames, Is.EqualTo(collector.Bodies.Count));
        return collector;
    }
}
