namespace HilRunner.Transport.Framing;

/// <summary>
/// Octet stuffing of the HDLC-like framing in RFC 1662 section 4.2 (1994): a flag octet stands between frames; the flag, the escape and
/// the control octets of a map are sent as an escape and the octet with bit 5 turned over. Flags and the frame check
/// sequence (CRC-16/IBM-SDLC, low byte first, over the octets before stuffing) are not part of what is encoded here.
/// </summary>
public static class Hdlc
{
    public const byte Flag = 0x7E;
    private const byte Escape = 0x7D;
    private const byte Turned = 0x20;

    /// <summary>Most octets that <paramref name="n"/> octets can become: each may need an escape.</summary>
    public static int MaxEncodedLength(int n) => 2 * n;

    /// <summary>Encodes all of <paramref name="source"/>; the two spans must not overlap. Returns the octets written.</summary>
    /// <param name="controlMap">Bit i set: octet i (0 to 31) is escaped too. 0: only flag and escape are.</param>
    /// <exception cref="IndexOutOfRangeException">The destination is too short.</exception>
    public static int Encode(ReadOnlySpan<byte> source, Span<byte> destination, uint controlMap = 0)
    {
        int written = 0;
        foreach (byte b in source)
        {
            if (b is Flag or Escape || (b < 32 && (controlMap >> b & 1) != 0))
            {
                destination[written++] = Escape;
                destination[written++] = (byte)(b ^ Turned);
            }
            else { destination[written++] = b; }
        }
        return written;
    }

    /// <summary>
    /// Decodes one frame, whatever map its sender used. False when a flag is inside, when the frame ends in an escape (the
    /// sender's abort) or when it does not fit. The destination may be the source itself.
    /// </summary>
    public static bool TryDecode(ReadOnlySpan<byte> source, Span<byte> destination, out int written)
    {
        written = 0;
        for (int read = 0; read < source.Length; read++)
        {
            byte b = source[read];
            if (b == Flag) { return false; }
            if (b == Escape)
            {
                read++;
                if (read == source.Length || source[read] == Flag) { return false; }
                b = (byte)(source[read] ^ Turned);
            }
            if (written == destination.Length) { return false; }
            destination[written++] = b;
        }
        return true;
    }
}
