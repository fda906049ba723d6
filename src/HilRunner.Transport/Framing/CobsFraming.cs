using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Framing;

/// <summary>Body and check sum in <see cref="Cobs"/>, ended by a zero.</summary>
internal sealed class CobsFraming(FramingSpec spec) : FramingCodec
{
    private readonly FrameCheck _check = FrameCheck.Of(spec);

    public override byte[] Frame(ReadOnlySpan<byte> body)
    {
        byte[] plain = _check.Append(body);
        byte[] coded = new byte[Cobs.MaxEncodedLength(plain.Length) + 1];
        int length = Cobs.Encode(plain, coded);
        return coded[..(length + 1)];
    }

    public override Deframer NewDeframer() =>
        new DelimitedDeframer(0, spec.MaxLength, _check, static frame => Cobs.TryDecode(frame, frame, out int length) ? length : -1);
}
