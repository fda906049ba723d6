namespace HilRunner.Transport.Framing;

/// <summary>
/// Consistent Overhead Byte Stuffing: takes every zero out of a block of bytes, so that a zero can end a frame.
/// Cheshire and Baker, "Consistent Overhead Byte Stuffing", IEEE/ACM Trans. Netw. 7(2):159–172, 1999.
/// The delimiter is not part of what is encoded or decoded here.
/// </summary>
public static class Cobs
{
    /// <summary>Longest run that one code byte stands for.</summary>
    private const int LongestRun = 254;

    /// <summary>Most bytes that <paramref name="n"/> bytes can become: one more in every 254, at least one.</summary>
    public static int MaxEncodedLength(int n) => n + Math.Max(1, (n + LongestRun - 1) / LongestRun);

    /// <summary>Encodes all of <paramref name="source"/>; the two spans must not overlap. Returns the bytes written.</summary>
    /// <exception cref="ArgumentException">The destination is too short.</exception>
    public static int Encode(ReadOnlySpan<byte> source, Span<byte> destination)
    {
        int written = 0;
        while (true)
        {
            int zero = source.IndexOf((byte)0);
            int run = zero < 0 ? source.Length : zero;
            bool full = run >= LongestRun;
            run = full ? LongestRun : run;
            if (destination.Length < written + run + 1) { throw TooShort(destination.Length); }
            destination[written] = (byte)(run + 1);
            source[..run].CopyTo(destination[(written + 1)..]);
            written += run + 1;
            source = source[run..];
            if (source.IsEmpty) { return written; }
            // A full run stands for itself; a shorter one that goes on stands for its bytes and the zero after them.
            if (!full) { source = source[1..]; }
        }
    }

    /// <summary>
    /// Decodes one frame. False, with nothing promised about the destination, when the bytes cannot be such a frame (a zero
    /// inside, a code that points past the end, no bytes at all) or do not fit. A final empty run after a full one is accepted.
    /// The destination may be the source itself: what is written never overtakes what is read.
    /// </summary>
    public static bool TryDecode(ReadOnlySpan<byte> source, Span<byte> destination, out int written)
    {
        written = 0;
        if (source.IsEmpty) { return false; }
        int read = 0;
        while (read < source.Length)
        {
            int run = source[read] - 1;
            read++;
            if (run < 0 || run > source.Length - read || run > destination.Length - written) { return false; }
            ReadOnlySpan<byte> bytes = source.Slice(read, run);
            if (bytes.Contains((byte)0)) { return false; }
            bytes.CopyTo(destination[written..]);
            read += run;
            written += run;
            if (run < LongestRun && read < source.Length)
            {
                if (written == destination.Length) { return false; }
                destination[written++] = 0;
            }
        }
        return true;
    }

    private static ArgumentException TooShort(int length) =>
        new($"the destination holds {length} bytes, too few for the encoded bytes; see {nameof(MaxEncodedLength)}", "destination");
}
