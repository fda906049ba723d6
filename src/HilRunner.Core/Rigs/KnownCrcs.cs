namespace HilRunner.Core.Rigs;

/// <summary>
/// The check sums that a rig file may name. Where the common catalogue of parametrised CRC algorithms has a name that
/// stands for no maker it is used; otherwise the name lists the parameters.
/// </summary>
public static class KnownCrcs
{
    public static IReadOnlyList<string> Names { get; } =
    [
        "CRC-8/SMBUS", "CRC-8 poly 2F",
        "CRC-16/ARC", "CRC-16/MODBUS", "CRC-16/USB", "CRC-16/XMODEM", "CRC-16/IBM-3740", "CRC-16/GENIBUS",
        "CRC-16 poly 1021 init 1D0F", "CRC-16/KERMIT", "CRC-16/IBM-SDLC", "CRC-16 poly 1021 reflected, no final xor",
        "CRC-32/ISO-HDLC", "CRC-32/ISCSI", "CRC-32/BZIP2", "CRC-32/MPEG-2", "CRC-32/JAMCRC",
    ];
}
