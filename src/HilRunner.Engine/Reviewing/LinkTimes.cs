using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Reviewing;

/// <summary>What is known of the time that bytes need on the link.</summary>
internal sealed class LinkTimes
{
    private readonly List<long> _identityNs = [];
    private HostTime? _identityAsked;
    private (HostTime At, int Bytes) _chunk;
    private (HostTime At, int Bytes) _chunkBefore;

    public LinkTimes(LinkSpec link)
    {
        // 8N1 at 115200 baud: 10 bits, 86.8 µs.
        ByteNs = link is SerialLinkSpec serial ? (long)Math.Round(serial.BitsPerByte * 1e9 / serial.Baud) : null;
        OneWay = ByteNs is { } ns ? (ns, "one byte on the wire at the baud rate") : (0, "nothing: no answer of the device was timed");
    }

    /// <summary>Time of one byte on the wire; null where the link has no baud rate.</summary>
    public long? ByteNs { get; }

    /// <summary>The best estimate of the way from the device to here: no bound, since single messages may take longer.</summary>
    public (long Ns, string From) OneWay { get; private set; }

    public void OnChunk(HostTime at, int bytes) => (_chunkBefore, _chunk) = (_chunk, (at, bytes));

    /// <summary>A read returns when its last byte is there: the first may have come this much earlier.</summary>
    public long ChunkNs(HostTime firstByte) =>
        (ByteNs ?? 0) * (_chunk.At == firstByte ? _chunk.Bytes : _chunkBefore.At == firstByte ? _chunkBefore.Bytes : 1);

    public void OnIdentityAsked(HostTime at) => _identityAsked = at;

    public void OnIdentity(HostTime firstByte)
    {
        if (_identityAsked is not { } asked || firstByte < asked) { return; }
        _identityNs.Add(firstByte - asked);
        _identityAsked = null;
    }

    /// <summary>To be called when the whole capture was read.</summary>
    public void OnClocks(ClockReview clocks)
    {
        if (clocks.Answers > 0)
        {
            OneWay = (clocks.Maps.Min(m => m.LeastDelayNs) / 2, $"half of the fastest of {clocks.Answers} clock answers");
        }
        else if (_identityNs.Count > 0) { OneWay = (_identityNs.Min() / 2, "half of the time to the identity answer"); }
    }
}
