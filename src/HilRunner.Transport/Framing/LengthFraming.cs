using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Framing;

/// <summary>Sync word, length field, body (type field first, where there is one), check sum.</summary>
internal sealed class LengthFraming : FramingCodec
{
    private readonly FramingSpec _spec;
    private readonly FrameCheck _check;

    public LengthFraming(FramingSpec spec)
    {
        if (spec.Sync.Length is < 1 or > 16)
        {
            throw new InvalidDataException($"framing length: a sync word of {spec.Sync.Length} bytes; expected 1 to 16, to find frames by");
        }
        if (FieldValue.IsFloat(spec.LengthField) || FieldValue.IsSigned(spec.LengthField) || FieldValue.Size(spec.LengthField) > 4)
        {
            throw new InvalidDataException($"framing length: a length field of type {spec.LengthField}; expected an unsigned integer of 8 to 32 bits");
        }
        (_spec, _check) = (spec, FrameCheck.Of(spec));
    }

    public override byte[] Frame(ReadOnlySpan<byte> body)
    {
        int lengthValue = body.Length - _spec.LengthAdd;
        if (!FieldValue.Fits(_spec.LengthField, lengthValue))
        {
            throw new InvalidDataException($"framing length: a body of {body.Length} bytes gives length value {lengthValue}, which {_spec.LengthField} cannot hold");
        }
        int sync = _spec.Sync.Length;
        int header = sync + FieldValue.Size(_spec.LengthField);
        byte[] frame = new byte[header + body.Length + _check.Length];
        _spec.Sync.Span.CopyTo(frame);
        FieldValue.WriteInteger(_spec.LengthField, lengthValue, frame.AsSpan(sync));
        body.CopyTo(frame.AsSpan(header));
        int end = header + body.Length;
        _check.Write(frame.AsSpan((_spec.CrcCoversHeader ? 0 : header)..end), frame.AsSpan(end));
        return frame;
    }

    public override Deframer NewDeframer() => new LengthDeframer(_spec, _check);
}
