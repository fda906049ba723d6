using System.Buffers.Binary;

namespace HilRunner.Emulated.Tests.Protocol;

/// <summary>
/// Frames as src/HilRunner.Device/README.md describes them, written from that page alone: neither the tool's code nor the
/// firmware's is used, so that both are held against the page.
/// </summary>
internal static class Frames
{
    public static byte[] Of(byte type, params byte[] fields)
    {
        byte[] body = [type, .. fields];
        ushort crc = Crc(body);
        return Stuffed([.. body, (byte)crc, (byte)(crc >> 8)]);
    }

    public static byte[] Stuffed(byte[] plain)
    {
        var frame = new List<byte>();
        int start = 0;
        while (true)
        {
            int zero = Array.IndexOf(plain, (byte)0, start);
            int end = zero < 0 ? plain.Length : zero;
            while (end - start >= 254)
            {
                frame.Add(255);
                frame.AddRange(plain.AsSpan(start, 254));
                start += 254;
                if (start == plain.Length) { return [.. frame, 0]; }
            }
            frame.Add((byte)(end - start + 1));
            frame.AddRange(plain.AsSpan(start, end - start));
            if (zero < 0) { return [.. frame, 0]; }
            start = zero + 1;
        }
    }

    /// <summary>Type and fields; null for what is no frame (bad code, or bad check sum). Without the closing zero.</summary>
    public static byte[]? Opened(ReadOnlySpan<byte> frame)
    {
        var plain = new List<byte>();
        for (int at = 0; at < frame.Length;)
        {
            int code = frame[at];
            if (code == 0 || at + code > frame.Length) { return null; }
            plain.AddRange(frame.Slice(at + 1, code - 1));
            at += code;
            if (code < 255 && at < frame.Length) { plain.Add(0); }
        }
        if (plain.Count < 3) { return null; }
        byte[] body = [.. plain[..^2]];
        return Crc(body) == (plain[^2] | plain[^1] << 8) ? body : null;
    }

    public static byte[] U32(uint value)
    {
        byte[] bytes = new byte[4];
        BinaryPrimitives.WriteUInt32LittleEndian(bytes, value);
        return bytes;
    }

    /// <summary>CRC-16/IBM-3740.</summary>
    public static ushort Crc(ReadOnlySpan<byte> bytes)
    {
        ushort crc = 0xFFFF;
        foreach (byte b in bytes)
        {
            crc ^= (ushort)(b << 8);
            for (int i = 0; i < 8; i++) { crc = (ushort)((crc & 0x8000) != 0 ? crc << 1 ^ 0x1021 : crc << 1); }
        }
        return crc;
    }
}
