using System.Globalization;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Transport.Framing;

namespace HilRunner.Transport.Decoding;

/// <summary>
/// A binary frame, described by its type value and field list. It is this message when type, length and every constant are right.
/// With repeated fields it hands over one message for each repeat; samples are numbered upwards from the frame's n.
/// </summary>
internal sealed class BinaryMessageFormat : MessageFormat
{
    private readonly record struct PlacedField(BinaryField Field, int Offset, bool Repeated)
    {
        public int End => Offset + FieldValue.Size(Field.Type);

        /// <summary>The field's bytes, from the fixed part of the frame or from one repeat.</summary>
        public ReadOnlySpan<byte> Of(ReadOnlySpan<byte> head, ReadOnlySpan<byte> repeat) => (Repeated ? repeat : head)[Offset..End];
    }

    private readonly MessageRole _role;
    private readonly PlacedField[] _fields, _repeat, _constants, _repeatConstants, _valuesAt;
    private readonly int _fixedLength, _repeatLength;
    private readonly PlacedField? _class, _n, _ticks, _confidence, _token, _seq;
    private readonly long _nWraps;
    private readonly ulong _seqWraps;
    /// <summary>How much n grows from one repeat to the next.</summary>
    private readonly int _step;
    private readonly double[] _values;

    public BinaryMessageFormat(BinaryLayout layout, FieldType? typeField, MessageRole role)
    {
        CheckLayout(layout, typeField, role);
        _role = role;
        BinaryField[] head = typeField is { } type ? [new("_", type, 1, layout.Type)] : [];
        (_fields, _fixedLength) = Place([.. head, .. layout.Fields], false);
        (_repeat, _repeatLength) = Place(layout.Repeat, true);
        _constants = [.. _fields.Where(f => f.Field.Value is not null)];
        _repeatConstants = [.. _repeat.Where(f => f.Field.Value is not null)];
        _class = Find("class");
        _n = Find([.. Numbering.Names]);
        _nWraps = _n is { } counted ? role.Numbers.SamplesUntilWrap(counted.Field) : 0;
        _seq = Find("seq");
        _seqWraps = _seq is { } sequence ? Numbering.Span(8 * sequence.Field.Bytes) : 0;
        _step = role.Kind == MessageKind.Sample && _n is { Repeated: false } ? 1 : 0;
        _ticks = Find(MessageRole.TickNames);
        _confidence = Find(MessageRole.ConfidenceNames);
        _token = Find("token");
        _valuesAt = [.. role.Values.Select(name => Find(name)!.Value)];
        _values = new double[_valuesAt.Length];
    }

    public override int Decode(ReadOnlySpan<byte> body, in FrameStamp stamp, IMessageSink sink)
    {
        if (!TrySplit(body, out int repeats)) { return 0; }
        ReadOnlySpan<byte> head = body[.._fixedLength];
        if (_role.Kind == MessageKind.Ignored) { return 1; }
        if (_role.SaysWords)
        {
            sink.OnMessage(new()
            {
                Kind = _role.Kind, Fields = Words(head), Seq = (ulong?)Integer(_seq, head, []),
                    SeqWraps = _seqWraps, FirstByte = stamp.FirstByte, LastByte = stamp.LastByte, WireLength = stamp.WireLength,
            });
            return 1;
        }
        for (int i = 0; i < repeats; i++)
        {
            ReadOnlySpan<byte> part = body[(_fixedLength + i * _repeatLength)..];
            for (int channel = 0; channel < _valuesAt.Length; channel++) { _values[channel] = Number(_valuesAt[channel], head, part); }
            ClassName name = _class is { } code
                ? _role.Classes!.Name(FieldValue.ReadInteger(code.Field.Type, code.Of(head, part))) : default;
            sink.OnMessage(new()
            {
                Kind = _role.Kind,
                Output = _role.Output,
                Class = name.Known,
                UnknownClass = name.Unknown,
                N = SampleNumber(head, part, i),
                NWraps = _nWraps,
                // One number for the frame: the first of its messages carries it.
                Seq = i == 0 ? (ulong?)Integer(_seq, head, part) : null,
                SeqWraps = _seqWraps,
                Ticks = (ulong?)Integer(_ticks, head, part),
                // What is no number (NaN) is no confidence, but the decision stands.
                Confidence = _confidence is { } field && Number(field, head, part) is var value && double.IsFinite(value) ? value : null,
                Token = (ulong?)Integer(_token, head, part),
                Values = _values,
                FirstByte = stamp.FirstByte,
                LastByte = stamp.LastByte,
                WireLength = stamp.WireLength,
            });
        }
        return repeats;
    }

    /// <summary>Null also for what no sample number can be: beyond 63 bits.</summary>
    private long? SampleNumber(ReadOnlySpan<byte> head, ReadOnlySpan<byte> part, int repeat)
    {
        if (_n is not { } field) { return null; }
        Int128 n = FieldValue.ReadInteger(field.Field.Type, field.Of(head, part)) * (long)field.Field.Scale + repeat * _step;
        if (field.Field.Name == "batch") { n = n * _role.Numbers.SamplesPerMessage + _role.Numbers.SamplesPerMessage - 1; }
        return n >= long.MinValue && n <= long.MaxValue ? (long)n : null;
    }

    private static Int128? Integer(PlacedField? field, ReadOnlySpan<byte> head, ReadOnlySpan<byte> part) =>
        field is { } placed ? FieldValue.ReadInteger(placed.Field.Type, placed.Of(head, part)) : null;

    private static double Number(PlacedField field, ReadOnlySpan<byte> head, ReadOnlySpan<byte> part) =>
        FieldValue.ReadNumber(field.Field.Type, field.Of(head, part)) * field.Field.Scale;

    private static (PlacedField[] Fields, int Length) Place(IReadOnlyList<BinaryField> fields, bool repeated)
    {
        var placed = new PlacedField[fields.Count];
        int offset = 0;
        for (int i = 0; i < placed.Length; i++)
        {
            placed[i] = new(fields[i], offset, repeated);
            offset = placed[i].End;
        }
        return (placed, offset);
    }

    private static bool ConstantsHold(PlacedField[] constants, ReadOnlySpan<byte> part)
    {
        foreach (PlacedField constant in constants)
        {
            FieldType type = constant.Field.Type;
            ReadOnlySpan<byte> bytes = constant.Of(part, part);
            long value = constant.Field.Value!.Value;
            bool holds = FieldValue.IsFloat(type) ? FieldValue.ReadNumber(type, bytes) == value : FieldValue.ReadInteger(type, bytes) == value;
            if (!holds) { return false; }
        }
        return true;
    }

    private static void CheckLayout(BinaryLayout layout, FieldType? typeField, MessageRole role)
    {
        BinaryLayouts.CheckType(layout, typeField, role.Where);
        BinaryLayouts.CheckFields(layout, role.Where);
        role.Check([.. layout.Fields.Concat(layout.Repeat).Select(f => f.Name)]);
        if (layout.Repeat.Count > 0 && role.Kind is not (MessageKind.Sample or MessageKind.Decision))
        {
            throw new InvalidDataException($"{role.Where}: repeats fields; expected that of samples and decisions only");
        }
        if (role.SaysWords) { return; }
        foreach (BinaryField field in layout.Fields.Concat(layout.Repeat))
        {
            if (field.Name is not ("class" or "n" or "batch" or "seq" or "token") && !MessageRole.TickNames.Contains(field.Name))
            {
                continue;
            }
            bool unsigned = field.Name is not ("class" or "n" or "batch");
            if (FieldValue.IsFloat(field.Type) || (unsigned && FieldValue.IsSigned(field.Type)))
            {
                throw new InvalidDataException($"{role.Where}: field {field.Name} has type {field.Type}; expected {(unsigned ? "an unsigned" : "an")} integer");
            }
            if (field.Name == "n" ? field.Scale < 1 || field.Scale != Math.Floor(field.Scale) || field.Scale > int.MaxValue : field.Scale != 1)
            {
                throw new InvalidDataException(FormattableString.Invariant($"{role.Where}: field {field.Name} has scale {field.Scale}; expected ") +
                    (field.Name == "n" ? "a whole number of samples" : "none: it is taken as it is"));
            }
        }
    }

    private bool TrySplit(ReadOnlySpan<byte> body, out int repeats)
    {
        repeats = 1;
        int rest = body.Length - _fixedLength;
        if (rest < 0 || (_repeatLength == 0 && rest != 0)) { return false; }
        if (_repeatLength > 0)
        {
            if (rest == 0 || rest % _repeatLength != 0) { return false; }
            repeats = rest / _repeatLength;
        }
        if (!ConstantsHold(_constants, body)) { return false; }
        for (int i = 0; _repeatConstants.Length > 0 && i < repeats; i++)
        {
            if (!ConstantsHold(_repeatConstants, body[(_fixedLength + i * _repeatLength)..])) { return false; }
        }
        return true;
    }

    private PlacedField? Find(params ReadOnlySpan<string> names)
    {
        foreach (PlacedField[] part in (PlacedField[][])[_fields, _repeat])
        {
            foreach (PlacedField field in part)
            {
                if (names.Contains(field.Field.Name)) { return field; }
            }
        }
        return null;
    }

    private Dictionary<string, string> Words(ReadOnlySpan<byte> head)
    {
        var words = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (PlacedField placed in _fields)
        {
            if (placed.Field.Name == "_") { continue; }
            words[placed.Field.Name] = FieldValue.IsFloat(placed.Field.Type) || placed.Field.Scale != 1
                ? Number(placed, head, []).ToString(CultureInfo.InvariantCulture)
                : FieldValue.ReadInteger(placed.Field.Type, placed.Of(head, [])).ToString(CultureInfo.InvariantCulture);
        }
        return words;
    }
}
