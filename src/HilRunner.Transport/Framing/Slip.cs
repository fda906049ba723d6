namespace HilRunner.Transport.Framing;

/// <summary>
/// Byte stuffing of the serial line internet protocol: END ends a frame and is escaped inside it. RFC 1055 (1988).
/// The END that ends a frame is not part of what is encoded or decoded here.
/// </summary>
public static class Slip
{
    public const byte End = 0xC0;
    private const byte Escape = 0xDB;
    private const byte EscapedEnd = 0xDC;
    private const byte EscapedEscape = 0xDD;

    /// <summary>Most bytes that <paramref name="n"/> bytes can become: each may need an escape.</summary>
    public static int MaxEncodedLength(int n) => 2 * n;

    /// <summary>Encodes all of <paramref name="source"/>; the two spans must not overlap. Returns the bytes written.</summary>
    /// <exception cref="IndexOutOfRangeException">The destination is too short.</exception>
    public static int Encode(ReadOnlySpan<byte> source, Span<byte> destination)
    {
        int written = 0;
        foreach (byte b in source)
        {
            if (b is End or Escape)
            {
                destination[written++] = Escape;
                destination[written++] = b == End ? EscapedEnd : EscapedEscape;
            }
            else { destination[written++] = b; }
        }
        return written;
    }

    /// <summary>
    /// Decodes one frame. False when the bytes cannot be such a frame (an END inside, an escape of something else or of
    /// nothing) or do not fit. The destination may be the source itself.
    /// </summary>
    public static bool TryDecode(ReadOnlySpan<byte> source, Span<byte> destination, out int written)
    {
        written = 0;
        for (int read = 0; read < source.Length; read++)
        {
            byte b = source[read];
            if (b == End) { return false; }
            if (b == Escape)
            {
                read++;
                if (read == source.Length) { return false; }
                switch (source[read])
                {
                    case EscapedEnd: b = End; break;
                    case EscapedEscape: b = Escape; break;
                    default: return false;
                }
            }
            if (written == destination.Length) { return false; }
            destination[written++] = b;
        }
        return true;
    }
}
