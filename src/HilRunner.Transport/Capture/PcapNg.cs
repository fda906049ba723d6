namespace HilRunner.Transport.Capture;

/// <summary>
/// The numbers of the format that a capture is written in: "PCAP Now Generic (pcapng) Capture File Format",
/// draft-ietf-opsawg-pcapng. A capture uses two interfaces, one for bytes and one for events.
/// </summary>
internal static class PcapNg
{
    public const uint SectionHeader = 0x0A0D0D0A;
    public const uint InterfaceDescription = 1;
    public const uint EnhancedPacket = 6;
    public const uint ByteOrderMagic = 0x1A2B3C4D;

    /// <summary>LINKTYPE_USER0: bytes of the link, as they came.</summary>
    public const ushort LinkTypeBytes = 147;

    /// <summary>LINKTYPE_USER1: run events as text, see <see cref="EventText"/>.</summary>
    public const ushort LinkTypeEvents = 148;

    public const ushort OptionEnd = 0;
    public const ushort OptionUserApplication = 4;
    public const ushort OptionInterfaceName = 2;
    public const ushort OptionTimeResolution = 9;
    public const ushort OptionPacketFlags = 2;

    /// <summary>if_tsresol: units of 10⁻⁹ s.</summary>
    public const byte Nanoseconds = 9;

    /// <summary>epb_flags, bits 0 and 1.</summary>
    public const uint DirectionMask = 3;
    public const uint Inbound = 1;
    public const uint Outbound = 2;

    /// <summary>Block type, length, interface, time (twice 32 bits), two packet lengths.</summary>
    public const int EnhancedPacketHeader = 28;

    /// <summary>Largest block that is written or accepted.</summary>
    public const int LargestBlock = 16 * 1024 * 1024;

    /// <summary>Every field starts at a multiple of 4 bytes.</summary>
    public static int Padded(int length) => (length + 3) & ~3;
}
