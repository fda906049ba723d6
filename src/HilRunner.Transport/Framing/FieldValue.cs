using System.Buffers.Binary;
using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Framing;

/// <summary>Reads, writes and bounds of a field's type. Integers are <see cref="Int128"/> on the way, so that every type fits.</summary>
internal static class FieldValue
{
    public static int Size(FieldType type) => BinaryField.BytesOf(type);

    public static bool IsFloat(FieldType type) => type is FieldType.F32Le or FieldType.F32Be or FieldType.F64Le or FieldType.F64Be;

    public static bool IsSigned(FieldType type) => type is FieldType.I8 or FieldType.I16Le or FieldType.I16Be or FieldType.I24Le
        or FieldType.I24Be or FieldType.I32Le or FieldType.I32Be or FieldType.I64Le or FieldType.I64Be;

    private static bool IsBig(FieldType type) => type is FieldType.U16Be or FieldType.I16Be or FieldType.U24Be or FieldType.I24Be
        or FieldType.U32Be or FieldType.I32Be or FieldType.U64Be or FieldType.I64Be or FieldType.F32Be or FieldType.F64Be;

    public static Int128 ReadInteger(FieldType type, ReadOnlySpan<byte> bytes)
    {
        ulong raw = ReadRaw(type, bytes);
        int unused = 64 - 8 * Size(type);
        return IsSigned(type) ? (long)(raw << unused) >> unused : raw;
    }

    public static double ReadNumber(FieldType type, ReadOnlySpan<byte> bytes) => type switch
    {
        FieldType.F32Le => BinaryPrimitives.ReadSingleLittleEndian(bytes),
        FieldType.F32Be => BinaryPrimitives.ReadSingleBigEndian(bytes),
        FieldType.F64Le => BinaryPrimitives.ReadDoubleLittleEndian(bytes),
        FieldType.F64Be => BinaryPrimitives.ReadDoubleBigEndian(bytes),
        _ => (double)ReadInteger(type, bytes),
    };

    public static bool Fits(FieldType type, Int128 value)
    {
        if (IsFloat(type)) { return true; }
        int bits = 8 * Size(type);
        Int128 span = Int128.One << bits;
        return IsSigned(type) ? value >= -(span / 2) && value < span / 2 : value >= 0 && value < span;
    }

    /// <summary>A counter of 0 and more as a field of this type shows it: it begins anew where the width ends.</summary>
    public static Int128 Wrapped(FieldType type, Int128 value)
    {
        if (IsFloat(type)) { return value; }
        Int128 span = Int128.One << (8 * Size(type));
        Int128 low = value & (span - 1);
        return IsSigned(type) && low >= span / 2 ? low - span : low;
    }

    /// <summary>Writes a value that <see cref="Fits"/>.</summary>
    public static void WriteInteger(FieldType type, Int128 value, Span<byte> bytes)
    {
        if (IsFloat(type))
        {
            WriteFloat(type, (double)value, bytes);
            return;
        }
        var raw = (UInt128)value;
        int size = Size(type);
        for (int i = 0; i < size; i++) { bytes[i] = (byte)(raw >> 8 * (IsBig(type) ? size - 1 - i : i)); }
    }

    public static void WriteFloat(FieldType type, double value, Span<byte> bytes)
    {
        switch (type)
        {
            case FieldType.F32Le: BinaryPrimitives.WriteSingleLittleEndian(bytes, (float)value); break;
            case FieldType.F32Be: BinaryPrimitives.WriteSingleBigEndian(bytes, (float)value); break;
            case FieldType.F64Le: BinaryPrimitives.WriteDoubleLittleEndian(bytes, value); break;
            default: BinaryPrimitives.WriteDoubleBigEndian(bytes, value); break;
        }
    }

    private static ulong ReadRaw(FieldType type, ReadOnlySpan<byte> bytes)
    {
        ulong raw = 0;
        int size = Size(type);
        for (int i = 0; i < size; i++) { raw = raw << 8 | bytes[IsBig(type) ? i : size - 1 - i]; }
        return raw;
    }
}
