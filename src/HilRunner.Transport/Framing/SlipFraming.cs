using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Framing;

/// <summary>Body and check sum in <see cref="Slip"/>, ended by an END.</summary>
internal sealed class SlipFraming(FramingSpec spec) : FramingCodec
{
    private readonly FrameCheck _check = FrameCheck.Of(spec);

    public override byte[] Frame(ReadOnlySpan<byte> body)
    {
        byte[] plain = _check.Append(body);
        byte[] coded = new byte[Slip.MaxEncodedLength(plain.Length) + 1];
        int length = Slip.Encode(plain, coded);
        coded[length] = Slip.End;
        return coded[..(length + 1)];
    }

    public override Deframer NewDeframer() =>
        new DelimitedDeframer(Slip.End, spec.MaxLength, _check, static frame => Slip.TryDecode(frame, frame, out int length) ? length : -1);
}
