using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Framing;

/// <summary>
/// Body and frame check sequence in <see cref="Hdlc"/> between flags. Both flags are sent; a received flag may end one frame and begin the
/// next. The check is CRC-16/IBM-SDLC, low byte first (RFC 1662 appendix C.2), unless the rig names another.
/// </summary>
internal sealed class HdlcFraming(FramingSpec spec) : FramingCodec
{
    private readonly FrameCheck _check = FrameCheck.Of(spec, "CRC-16/IBM-SDLC");

    public override byte[] Frame(ReadOnlySpan<byte> body)
    {
        byte[] plain = _check.Append(body);
        byte[] coded = new byte[Hdlc.MaxEncodedLength(plain.Length) + 2];
        coded[0] = Hdlc.Flag;
        int length = Hdlc.Encode(plain, coded.AsSpan(1)) + 1;
        coded[length] = Hdlc.Flag;
        return coded[..(length + 1)];
    }

    public override Deframer NewDeframer() =>
        new DelimitedDeframer(Hdlc.Flag, spec.MaxLength, _check, static frame => Hdlc.TryDecode(frame, frame, out int length) ? length : -1);
}
