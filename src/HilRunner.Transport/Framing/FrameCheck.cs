using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Framing;

/// <summary>The check sum after a frame's body, if it has one.</summary>
internal sealed class FrameCheck(CrcModel? crc, ByteOrder order)
{
    public static FrameCheck Of(FramingSpec spec, string? nameIfNone = null)
    {
        string? name = spec.Crc ?? nameIfNone;
        return new(name is null ? null : CrcModel.ByName(name), spec.CrcOrder);
    }

    public int Length => crc?.WidthBytes ?? 0;

    /// <summary>Writes the check sum over <paramref name="covered"/>.</summary>
    public void Write(ReadOnlySpan<byte> covered, Span<byte> destination)
    {
        if (crc is null) { return; }
        ulong value = crc.Compute(covered);
        for (int i = 0; i < Length; i++) { destination[i] = ByteOf(value, i); }
    }

    /// <summary>Checks bytes that end in the check sum over those before it.</summary>
    public bool Holds(ReadOnlySpan<byte> coveredAndSum)
    {
        if (crc is null) { return true; }
        if (coveredAndSum.Length < Length) { return false; }
        ulong value = crc.Compute(coveredAndSum[..^Length]);
        ReadOnlySpan<byte> sum = coveredAndSum[^Length..];
        for (int i = 0; i < sum.Length; i++)
        {
            if (sum[i] != ByteOf(value, i)) { return false; }
        }
        return true;
    }

    /// <summary>The body with its check sum behind it.</summary>
    public byte[] Append(ReadOnlySpan<byte> body)
    {
        byte[] whole = new byte[body.Length + Length];
        body.CopyTo(whole);
        Write(body, whole.AsSpan(body.Length));
        return whole;
    }

    private byte ByteOf(ulong value, int index) => (byte)(value >> 8 * (order == ByteOrder.Little ? index : Length - 1 - index));
}
