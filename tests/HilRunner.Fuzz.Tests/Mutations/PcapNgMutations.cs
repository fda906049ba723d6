using System.Buffers.Binary;
using System.Text;

namespace HilRunner.Fuzz.Tests.Mutations;

/// <summary>Damage to blocks whose lengths still fit: what a reader of pcapng looks at after them.</summary>
internal static class PcapNgMutations
{
    private const int Frame = 12, Packet = 28;
    private const uint EnhancedPacket = 6;
    private static readonly uint[] s_types = [0x0A0D0D0A, 1, 2, 3, 4, 5, 6, 0x0BAD, 0x80000001];

    public static byte[] Step(byte[] bytes, Random random)
    {
        var blocks = Blocks(bytes);
        if (blocks.Count == 0) { return bytes; }
        int at = random.Next(blocks.Count), to = random.Next(blocks.Count);
        byte[] block = [.. blocks[at]];
        blocks[at] = block;
        switch (random.Next(13))
        {
            case 0: blocks.RemoveAt(at); break;
            case 1: blocks.Insert(to, block); break;
            case 2: (blocks[at], blocks[to]) = (blocks[to], blocks[at]); break;
            case 3: BinaryPrimitives.WriteUInt32LittleEndian(block, s_types[random.Next(s_types.Length)]); break;
            case 4: blocks.RemoveRange(at, Math.Min(random.Next(1, 20), blocks.Count - at)); break;
            // Interface, time, captured and original length of a packet.
            case 5 when block.Length > Packet: ByteMutations.Whole(block, 8 + 4 * random.Next(5), random); break;
            case 6 when block.Length > Packet: BinaryPrimitives.WriteUInt32LittleEndian(
                block.AsSpan(12), (uint)random.Next()); break;
            // What it holds.
            case 7 when block.Length > Frame: block[8 + random.Next(block.Length - Frame)] = (byte)random.Next(256); break;
            case 8: ByteMutations.Whole(block, random.Next(block.Length - 3), random); break;
            case 9: blocks[at] = Longer(block, random); break;
            default:
                // A digit or a letter of an event's text.
                int[] events = [.. Enumerable.Range(0, blocks.Count).Where(i => IsEvent(blocks[i]))];
                if (events.Length > 0)
                {
                    blocks[events[random.Next(events.Length)]] = Said([.. blocks[events[random.Next(events.Length)]]], random);
                }
                break;
        }
        return [.. blocks.SelectMany(b => b)];
    }

    /// <summary>As far as their lengths lead.</summary>
    private static List<byte[]> Blocks(byte[] bytes)
    {
        var blocks = new List<byte[]>();
        int at = 0;
        while (at + Frame <= bytes.Length)
        {
            long length = BinaryPrimitives.ReadUInt32LittleEndian(bytes.AsSpan(at + 4));
            if (length < Frame || at + length > bytes.Length) { break; }
            blocks.Add(bytes[at..(int)(at + length)]);
            at += (int)length;
        }
        if (at < bytes.Length && at + Frame <= bytes.Length) { blocks.Add(bytes[at..]); }
        return blocks;
    }

    private static bool IsEvent(byte[] block) => block.Length > Packet + 4
        && BinaryPrimitives.ReadUInt32LittleEndian(block) == EnhancedPacket
        && BinaryPrimitives.ReadUInt32LittleEndian(block.AsSpan(8)) == 1;

    private static byte[] Said(byte[] block, Random random)
    {
        int length = (int)Math.Min(BinaryPrimitives.ReadUInt32LittleEndian(block.AsSpan(20)), (uint)(block.Length - Packet));
        if (length == 0) { return block; }
        var text = block.AsSpan(Packet, length);
        int at = random.Next(length);
        while (random.Next(8) > 0 && !char.IsAsciiLetterOrDigit((char)text[at])) { at = (at + 1) % length; }
        if (char.IsAsciiDigit((char)text[at]) && random.Next(3) > 0) { text[at] = (byte)('0' + random.Next(10)); return block; }
        byte[] put = Encoding.UTF8.GetBytes(random.Next(2) == 0 ? Nasty.Number(random) : "=\n\t-"[random.Next(4)].ToString());
        put.AsSpan(0, Math.Min(put.Length, length - at)).CopyTo(text[at..]);
        return block;
    }

    /// <summary>The same block with more in it, its lengths right.</summary>
    private static byte[] Longer(byte[] block, Random random)
    {
        byte[] more = new byte[4 * random.Next(1, 2000)];
        random.NextBytes(more);
        byte[] made = [.. block[..^4], .. more, .. block[^4..]];
        BinaryPrimitives.WriteUInt32LittleEndian(made.AsSpan(4), (uint)made.Length);
        BinaryPrimitives.WriteUInt32LittleEndian(made.AsSpan(made.Length - 4), (uint)made.Length);
        return made;
    }
}
