namespace HilRunner.Transport.Framing;

/// <summary>
/// One cyclic redundancy check, stated by its full parameters. A polynomial alone is not a specification: seven models
/// here share 1021 and differ in every result, so each carries its <see cref="Check"/> value, the CRC of "123456789".
/// Table-driven, one byte a step. Parameters after Williams, "A Painless Guide to CRC Error Detection Algorithms", 1993;
/// reflection of input and output always go together here.
/// </summary>
public sealed class CrcModel
{
    private readonly ulong[] _table = new ulong[256];
    private readonly ulong _mask;
    private readonly ulong _registerStart;

    private CrcModel(string name, int widthBits, ulong polynomial, ulong initial, bool reflected, ulong finalXor, ulong check)
    {
        (Name, WidthBits, Polynomial, Initial, Reflected, FinalXor, Check) =
            (name, widthBits, polynomial, initial, reflected, finalXor, check);
        _mask = ulong.MaxValue >> (64 - widthBits);
        _registerStart = reflected ? Reverse(initial, widthBits) : initial;
        for (int index = 0; index < 256; index++) { _table[index] = reflected ? ReflectedEntry(index) : PlainEntry(index); }
    }

    /// <summary>Every model a rig may name, narrow ones first.</summary>
    public static IReadOnlyList<CrcModel> All { get; } =
    [
        new("CRC-8/SMBUS", 8, 0x07, 0x00, false, 0x00, 0xF4),
        new("CRC-8 poly 2F", 8, 0x2F, 0xFF, false, 0xFF, 0xDF),
        new("CRC-16/ARC", 16, 0x8005, 0x0000, true, 0x0000, 0xBB3D),
        new("CRC-16/MODBUS", 16, 0x8005, 0xFFFF, true, 0x0000, 0x4B37),
        new("CRC-16/USB", 16, 0x8005, 0xFFFF, true, 0xFFFF, 0xB4C8),
        new("CRC-16/XMODEM", 16, 0x1021, 0x0000, false, 0x0000, 0x31C3),
        new("CRC-16/IBM-3740", 16, 0x1021, 0xFFFF, false, 0x0000, 0x29B1),
        new("CRC-16/GENIBUS", 16, 0x1021, 0xFFFF, false, 0xFFFF, 0xD64E),
        new("CRC-16 poly 1021 init 1D0F", 16, 0x1021, 0x1D0F, false, 0x0000, 0xE5CC),
        new("CRC-16/KERMIT", 16, 0x1021, 0x0000, true, 0x0000, 0x2189),
        new("CRC-16/IBM-SDLC", 16, 0x1021, 0xFFFF, true, 0xFFFF, 0x906E),
        new("CRC-16 poly 1021 reflected, no final xor", 16, 0x1021, 0xFFFF, true, 0x0000, 0x6F91),
        new("CRC-32/ISO-HDLC", 32, 0x04C11DB7, 0xFFFFFFFF, true, 0xFFFFFFFF, 0xCBF43926),
        new("CRC-32/ISCSI", 32, 0x1EDC6F41, 0xFFFFFFFF, true, 0xFFFFFFFF, 0xE3069283),
        new("CRC-32/BZIP2", 32, 0x04C11DB7, 0xFFFFFFFF, false, 0xFFFFFFFF, 0xFC891918),
        new("CRC-32/MPEG-2", 32, 0x04C11DB7, 0xFFFFFFFF, false, 0x00000000, 0x0376E6E7),
        new("CRC-32/JAMCRC", 32, 0x04C11DB7, 0xFFFFFFFF, true, 0x00000000, 0x340BC6D9),
    ];

    public string Name { get; }

    /// <summary>8, 16 or 32.</summary>
    public int WidthBits { get; }

    /// <summary>Normal form: the highest power left out, not reflected.</summary>
    public ulong Polynomial { get; }
    public ulong Initial { get; }

    /// <summary>True: both the input bytes and the result are taken lowest bit first.</summary>
    public bool Reflected { get; }
    public ulong FinalXor { get; }

    /// <summary>The CRC of the nine ASCII bytes "123456789".</summary>
    public ulong Check { get; }

    /// <summary>The length of the check sum on the wire.</summary>
    public int WidthBytes => WidthBits / 8;

    /// <summary>Finds a model by its name; upper and lower case are the same.</summary>
    /// <exception cref="InvalidDataException">No model has this name; lists those there are.</exception>
    public static CrcModel ByName(string name) =>
        All.FirstOrDefault(model => string.Equals(model.Name, name, StringComparison.OrdinalIgnoreCase))
        ?? throw new InvalidDataException(
            $"no check sum is named \"{name}\"; expected one of {string.Join(", ", All.Select(m => m.Name))}; compare the check values, " +
            "because one polynomial has many variants");

    public ulong Compute(ReadOnlySpan<byte> bytes) => Register(bytes) ^ FinalXor;

    /// <summary>The register after these bytes, before the final xor: over data and its own check sum it is the model's residue.</summary>
    internal ulong Register(ReadOnlySpan<byte> bytes)
    {
        ulong register = _registerStart;
        if (Reflected)
        {
            foreach (byte b in bytes) { register = _table[(byte)register ^ b] ^ (register >> 8); }
            return register;
        }
        int shift = WidthBits - 8;
        foreach (byte b in bytes) { register = _table[(byte)(register >> shift) ^ b] ^ ((register << 8) & _mask); }
        return register;
    }

    private ulong PlainEntry(int index)
    {
        ulong top = 1UL << (WidthBits - 1);
        ulong register = (ulong)index << (WidthBits - 8);
        for (int bit = 0; bit < 8; bit++)
        {
            register = (register & top) != 0 ? (register << 1) ^ Polynomial : register << 1;
        }
        return register & _mask;
    }

    private ulong ReflectedEntry(int index)
    {
        ulong reversed = Reverse(Polynomial, WidthBits);
        ulong register = (ulong)index;
        for (int bit = 0; bit < 8; bit++) { register = (register & 1) != 0 ? (register >> 1) ^ reversed : register >> 1; }
        return register;
    }

    private static ulong Reverse(ulong value, int widthBits)
    {
        ulong result = 0;
        for (int bit = 0; bit < widthBits; bit++) { result = (result << 1) | ((value >> bit) & 1); }
        return result;
    }
}
