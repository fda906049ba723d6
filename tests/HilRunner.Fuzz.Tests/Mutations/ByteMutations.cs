using System.Buffers.Binary;

namespace HilRunner.Fuzz.Tests.Mutations;

/// <summary>Damage to bytes of any kind.</summary>
internal static class ByteMutations
{
    private static readonly byte[] s_bytes = [0, 1, 0x7f, 0x80, 0xff, (byte)'\n', (byte)'\r', 0x1b, 0x7e, 0xc0, 0xdb];

    /// <param name="other">What is spliced in.</param>
    public static byte[] Step(byte[] bytes, byte[] other, Random random)
    {
        if (bytes.Length == 0) { return [.. other]; }
        byte[] made = [.. bytes];
        int at = random.Next(made.Length), length = Math.Min(random.Next(1, 64), made.Length - at);
        switch (random.Next(12))
        {
            case 0: made[at] ^= (byte)(1 << random.Next(8)); return made;
            case 1: made[at] = (byte)random.Next(256); return made;
            case 2: made[at] = s_bytes[random.Next(s_bytes.Length)]; return made;
            case 3: return made[..at];
            case 4: return [.. made[..at], .. made[(at + length)..]];
            case 5: return [.. made[..at], .. made[at..(at + length)], .. made[at..]];
            case 6: return Splice(made, other, random);
            case 7: return Whole(made, at, random);
            case 8: Array.Fill(made, s_bytes[random.Next(s_bytes.Length)], at, length); return made;
            case 9: random.NextBytes(made.AsSpan(at, length)); return made;
            // A digit for another one.
            case 10:
                int digit = Array.FindIndex(made, at, b => b is >= (byte)'0' and <= (byte)'9');
                if (digit >= 0) { made[digit] = (byte)('0' + random.Next(10)); }
                return made;
            default:
                byte[] put = new byte[random.Next(1, 32)];
                random.NextBytes(put);
                return [.. made[..at], .. put, .. made[at..]];
        }
    }

    /// <summary>A number of 1, 2, 4 or 8 bytes at the edge of what it can say.</summary>
    public static byte[] Whole(byte[] made, int at, Random random)
    {
        ulong value = random.Next(6) switch { 0 => 0, 1 => ulong.MaxValue, 2 =>
            long.MaxValue, 3 => int.MaxValue, 4 => 0x8000_0000, _ => (ulong)random.Next(1 << random.Next(1, 30)) };
        Span<byte> whole = stackalloc byte[8];
        if (random.Next(2) == 0)
        {
            BinaryPrimitives.WriteUInt64LittleEndian(whole, value);
        }
        else { BinaryPrimitives.WriteUInt64BigEndian(whole, value); }
        whole[..Math.Min(1 << random.Next(4), made.Length - at)].CopyTo(made.AsSpan(at));
        return made;
    }

    private static byte[] Splice(byte[] made, byte[] other, Random random)
    {
        int from = random.Next(other.Length + 1), to = Math.Min(other.Length, from + random.Next(1, 400)),
            at = random.Next(made.Length), over = random.Next(2) == 0 ? 0 : Math.Min(to - from, made.Length - at);
        return [.. made[..at], .. other[from..to], .. made[(at + over)..]];
    }
}
