using System.Buffers.Binary;

namespace HilRunner.Fuzz.Tests.Mutations;

/// <summary>Damage to the footer, which is a tree in Thrift's compact form, to the headers of pages, and to lengths.</summary>
internal static class ParquetMutations
{
    private const int Tail = 8;

    public static byte[] Step(byte[] bytes, Random random)
    {
        if (bytes.Length < 3 * Tail) { return bytes; }
        byte[] made = [.. bytes];
        int length = (int)Math.Clamp(BinaryPrimitives.ReadUInt32LittleEndian(made.AsSpan(made.Length - Tail)),
            1, (uint)(made.Length - Tail - 1)), footer = made.Length - Tail - length;
        int at = footer + random.Next(length);
        switch (random.Next(9))
        {
            case 0: made[at] = (byte)random.Next(256); return made;
            case 1: made[at] ^= (byte)(1 << random.Next(8)); return made;
            // A field's or an element's type.
            case 2: made[at] = (byte)((made[at] & 0xf0) | random.Next(16)); return made;
            // The largest numbers that a variable-length integer can say, in the place of one or pushed in.
            case 3: return Footer(made, footer,
                [.. made[footer..at], 0xff, 0xff, 0xff, 0xff, 0x0f, .. made[Math.Min(at + 1, made.Length - Tail)..^Tail]]);
            case 4: return Footer(
                made, footer,
                [.. made[footer..at], 0xff, 0xff, 0xff, 0xff, 0xff,
                    0xff, 0xff, 0xff, 0xff, 0x01, .. made[Math.Min(at + 1, made.Length - Tail)..^Tail]]);
            case 5: return Footer(
                made, footer, [.. made[footer..at], .. made[Math.Min(at + random.Next(1, 12), made.Length - Tail)..^Tail]]);
            // Lists in lists.
            case 6: return Footer(
                made, footer, [.. made[footer..at], .. Enumerable.Repeat((byte)0x19, random.Next(1, 3000)), .. made[at..^Tail]]);
            case 7: return ByteMutations.Whole(made, made.Length - Tail, random);
            // Where pages begin with their headers.
            default: made[random.Next(4, Math.Max(5, Math.Min(footer, 60)))] = (byte)random.Next(256); return made;
        }
    }

    private static byte[] Footer(byte[] made, int footer, byte[] put)
    {
        byte[] length = new byte[4];
        BinaryPrimitives.WriteInt32LittleEndian(length, put.Length);
        return [.. made[..footer], .. put, .. length, .. made[^4..]];
    }
}
