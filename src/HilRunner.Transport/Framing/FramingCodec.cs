using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Framing;

/// <summary>One framing, both ways: makes frames, and deframers for what comes back. To add a framing, derive from it and name it in <see cref="Create"/>.</summary>
public abstract class FramingCodec
{
    private const int ShortestMaxLength = 16;
    private const int LongestMaxLength = 65536;

    /// <summary>The codec for a rig's framing.</summary>
    /// <exception cref="InvalidDataException">The description cannot be used; says why.</exception>
    public static FramingCodec Create(FramingSpec spec)
    {
        if (spec.MaxLength is < ShortestMaxLength or > LongestMaxLength)
        {
            throw new InvalidDataException($"framing: longest frame {spec.MaxLength} bytes; expected {ShortestMaxLength} to {LongestMaxLength}");
        }
        return spec.Kind switch
        {
            FramingKind.Lines => new LinesFraming(spec),
            FramingKind.Cobs => new CobsFraming(spec),
            FramingKind.Slip => new SlipFraming(spec),
            FramingKind.Hdlc => new HdlcFraming(spec),
            FramingKind.Length => new LengthFraming(spec),
            _ => throw new InvalidDataException($"framing: {spec.Kind} has no bytes of its own; expected lines, cobs, slip, hdlc or length"),
        };
    }

    /// <summary>Makes one frame, ready to be sent. What is sent may be longer than the longest frame that is received.</summary>
    /// <exception cref="InvalidDataException">The framing cannot carry this body.</exception>
    public abstract byte[] Frame(ReadOnlySpan<byte> body);

    public abstract Deframer NewDeframer();
}
