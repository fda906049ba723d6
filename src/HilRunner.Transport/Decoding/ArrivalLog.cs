using HilRunner.Core.Time;

namespace HilRunner.Transport.Decoding;

/// <summary>When each byte of a stream arrived, for the last chunks; a byte older than those has the oldest time that is still known.</summary>
internal sealed class ArrivalLog
{
    private const int Kept = 4096;
    private readonly (long End, HostTime At)[] _chunks = new (long, HostTime)[Kept];
    private long _count;

    /// <summary>Bytes so far.</summary>
    public long Received { get; private set; }

    public void Add(int bytes, HostTime at)
    {
        Received += bytes;
        _chunks[_count++ % Kept] = (Received, at);
    }

    /// <param name="offset">From the start of the stream, less than <see cref="Received"/>.</param>
    public HostTime Of(long offset)
    {
        long oldest = Math.Max(0, _count - Kept);
        long chunk = _count - 1;
        while (chunk > oldest && _chunks[(chunk - 1) % Kept].End > offset) { chunk--; }
        return _chunks[chunk % Kept].At;
    }
}
