using System.Text;
using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Framing;

/// <summary>Lines of text: sent with the rig's line end; received lines may end in \n or \r\n.</summary>
internal sealed class LinesFraming : FramingCodec
{
    private readonly byte[] _lineEnd;
    private readonly int _maxLength;

    public LinesFraming(FramingSpec spec)
    {
        if (spec.LineEnd is not ("\n" or "\r\n"))
        {
            throw new InvalidDataException($"framing lines: line end {spec.LineEnd.Replace("\r", "\\r", StringComparison.Ordinal)}; expected \\n or \\r\\n");
        }
        if (spec.Crc is not null || spec.TypeField is not null)
        {
            throw new InvalidDataException("framing lines: a line has no check sum and no type field; expected another framing or neither of them");
        }
        _lineEnd = Encoding.ASCII.GetBytes(spec.LineEnd);
        _maxLength = spec.MaxLength;
    }

    /// <summary>A body that brings its line end is sent as it is, so that a bare line end can be sent.</summary>
    public override byte[] Frame(ReadOnlySpan<byte> body) => body.EndsWith(_lineEnd) ? body.ToArray() : [.. body, .. _lineEnd];

    public override Deframer NewDeframer() => new DelimitedDeframer((byte)'\n', _maxLength, new(null, ByteOrder.Little), Unpack);

    private static int Unpack(Span<byte> line) => line[^1] == '\r' ? line.Length - 1 : line.Length;
}
