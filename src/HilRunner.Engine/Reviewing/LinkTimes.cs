using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Reviewing;

/// <summary>What is known of the time that bytes need on the link.</summary>
internal sealed class LinkTimes
{
    /// <summary>Longer than this no read is worked on: the reader was waiting again.</summary>
    private const long BusyNs = 1_000_000;
    private readonly List<long> _identityNs = [];
    private HostTime? _identityAsked;
    private (HostTime At, long EarlierNs) _chunk;
    private (HostTime At, long EarlierNs) _chunkBefore;

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

    public void OnChunk(HostTime at, int bytes)
    {
        long sinceNs = at - _chunk.At;
        _chunkBefore = _chunk;
        _chunk = (at, bytes * (ByteNs ?? 0) + (sinceNs is > 0 and < BusyNs ? sinceNs : 0));
    }

    /// <summary>
    /// How much earlier than the stamp of its read a message's first byte may have been there: a read returns when its last byte
    /// is there, and what comes while the read before is still being worked on waits for that.
    /// </summary>
    public long EarlierNs(HostTime firstByte) =>
        _chunk.At == firstByte ? _chunk.EarlierNs : _chunkBefore.At == firstByte ? _chunkBefore.EarlierNs : ByteNs ?? 0;

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
