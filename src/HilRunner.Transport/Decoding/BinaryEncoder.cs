using HilRunner.Core.Rigs;
using HilRunner.Transport.Framing;

namespace HilRunner.Transport.Decoding;

/// <summary>Fields in their types and byte orders; constants as stated, "_" as 0, everything else value ÷ scale, to the nearest integer.</summary>
internal sealed class BinaryEncoder : MessageEncoder
{
    private readonly record struct OutgoingField(BinaryField Field, int Size, OutgoingSource? Source);

    private readonly string _where;
    private readonly OutgoingField[] _fields, _repeat;
    private readonly int _fixedLength, _repeatLength;

    public BinaryEncoder(BinaryLayout layout, FieldType? typeField, OutgoingScope scope)
    {
        BinaryLayouts.CheckType(layout, typeField, scope.Where);
        BinaryLayouts.CheckFields(layout, scope.Where);
        if (layout.Repeat.Count > 0 && scope.Channels.Count == 0)
        {
            throw new InvalidDataException($"{scope.Where}: repeats fields; expected that of the sample message only");
        }
        if (layout.Repeat.Count == 0 && scope.SamplesPerMessage > 1)
        {
            throw new InvalidDataException($"{scope.Where}: no fields under repeat although a message holds {scope.SamplesPerMessage} samples; expected those of one sample there");
        }
        _where = scope.Where;
        BinaryField[] head = typeField is { } type ? [new("_", type, 1, layout.Type)] : [];
        _fields = [.. head.Concat(layout.Fields).Select(f => Resolve(f, scope, false))];
        _repeat = [.. layout.Repeat.Select(f => Resolve(f, scope, true))];
        _fixedLength = _fields.Sum(f => f.Size);
        _repeatLength = _repeat.Sum(f => f.Size);
    }

    public override byte[] Encode(in OutgoingValues values, int samples)
    {
        byte[] body = new byte[_fixedLength + samples * _repeatLength];
        int at = Write(_fields, values, 0, body, 0);
        for (int i = 0; _repeat.Length > 0 && i < samples; i++) { at = Write(_repeat, values, i, body, at); }
        return body;
    }

    private static OutgoingField Resolve(BinaryField field, OutgoingScope scope, bool repeated) =>
        new(field, FieldValue.Size(field.Type), field.Value is not null || field.Name == "_" ? null : scope.Resolve(field.Name, repeated));

    private int Write(OutgoingField[] fields, in OutgoingValues values, int sample, byte[] body, int at)
    {
        foreach ((BinaryField field, int size, OutgoingSource? source) in fields)
        {
            Span<byte> target = body.AsSpan(at, size);
            at += size;
            Int128 value = source is { } known ? values.Of(known, sample) : field.Value ?? 0;
            bool scaled = source is not null && field.Scale != 1;
            if (scaled && FieldValue.IsFloat(field.Type))
            {
                FieldValue.WriteFloat(field.Type, (double)value / field.Scale, target);
                continue;
            }
            if (scaled) { value = (Int128)Math.Round((double)value / field.Scale, MidpointRounding.AwayFromZero); }
            if (source is { Wraps: true }) { value = FieldValue.Wrapped(field.Type, value); }
            if (!FieldValue.Fits(field.Type, value))
            {
                throw new InvalidDataException($"{_where}: {field.Name} is {value} at sample {values.First + sample}, which type {field.Type} cannot hold; expected a wider type or smaller values");
            }
            FieldValue.WriteInteger(field.Type, value, target);
        }
        return at;
    }
}
