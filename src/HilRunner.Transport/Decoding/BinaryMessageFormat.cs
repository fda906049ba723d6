using System.Globalization;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Transport.Framing;

namespace HilRunner.Transport.Decoding;

/// <summary>
/// A binary frame, described by its type value and field list. It is this message when type, length and every constant are right.
/// A block of samples hands over one message a sample, numbered upwards from the frame's n.
/// </summary>
internal sealed class BinaryMessageFormat : MessageFormat
{
    private readonly record struct PlacedField(BinaryField Field, int Offset)
    {
        public int End => Offset + FieldValue.Size(Field.Type);
        public ReadOnlySpan<byte> Of(ReadOnlySpan<byte> part) => part[Offset..End];
    }

    private readonly MessageRole _role;
    private readonly PlacedField[] _fields, _repeat, _constants, _repeatConstants;
    private readonly int _fixedLength, _repeatLength;
    private readonly PlacedField? _class, _n, _ticks, _confidence, _token;
    private readonly (PlacedField Field, bool Repeated)[] _channels;
    private readonly double[] _values;

    public BinaryMessageFormat(BinaryLayout layout, FieldType? typeField, MessageRole role)
    {
        CheckLayout(layout, typeField, role);
        _role = role;
        BinaryField[] head = typeField is { } type ? [new("_", type, 1, layout.Type)] : [];
        (_fields, _fixedLength) = Place([.. head, .. layout.Fields]);
        (_repeat, _repeatLength) = Place(layout.Repeat);
        _constants = [.. _fields.Where(f => f.Field.Value is not null)];
        _repeatConstants = [.. _repeat.Where(f => f.Field.Value is not null)];
        _class = Find("class");
        _n = Find("n");
        _ticks = Find(MessageRole.TickNames);
        _confidence = Find(MessageRole.ConfidenceNames);
        _token = Find("token");
        _channels = role.Kind == MessageKind.Sample ? [.. role.Channels.Select(FindChannel)] : [];
        _values = new double[_channels.Length];
    }

    public override int Decode(ReadOnlySpan<byte> body, in FrameStamp stamp, IMessageSink sink)
    {
        if (!TrySplit(body, out int samples)) { return 0; }
        ReadOnlySpan<byte> head = body[.._fixedLength];
        if (_role.SaysWords)
        {
            sink.OnMessage(new() { Kind = _role.Kind, Fields = Words(head), FirstByte = stamp.FirstByte, LastByte = stamp.LastByte, WireLength = stamp.WireLength });
            return 1;
        }
        double? confidence = null;
        if (_confidence is { } field)
        {
            confidence = FieldValue.ReadNumber(field.Field.Type, field.Of(head)) * field.Field.Scale;
            if (!double.IsFinite(confidence.Value)) { return 0; }
        }
        // A number with the top bit of 64 set does not fit a sample number.
        Int128? n = Integer(_n, head) * (_n is { } number ? (long)number.Field.Scale : 1);
        if (n < long.MinValue || n > long.MaxValue - samples) { return 0; }
        string? name = _class is { } code ? _role.Classes!.Name(FieldValue.ReadInteger(code.Field.Type, code.Of(head))) : null;
        for (int i = 0; i < samples; i++)
        {
            ReadValues(head, body[(_fixedLength + i * _repeatLength)..]);
            sink.OnMessage(new()
            {
                Kind = _role.Kind,
                Output = _role.Output,
                Class = name,
                N = n is { } first ? (long)first + i : null,
                Ticks = (ulong?)Integer(_ticks, head),
                Confidence = confidence,
                Token = (ulong?)Integer(_token, head),
                Values = _values,
                FirstByte = stamp.FirstByte,
                LastByte = stamp.LastByte,
                WireLength = stamp.WireLength,
            });
        }
        return samples;
    }

    private static Int128? Integer(PlacedField? field, ReadOnlySpan<byte> part) =>
        field is { } placed ? FieldValue.ReadInteger(placed.Field.Type, placed.Of(part)) : null;

    private static (PlacedField[] Fields, int Length) Place(IReadOnlyList<BinaryField> fields)
    {
        var placed = new PlacedField[fields.Count];
        int offset = 0;
        for (int i = 0; i < placed.Length; i++)
        {
            placed[i] = new(fields[i], offset);
            offset = placed[i].End;
        }
        return (placed, offset);
    }

    private static bool ConstantsHold(PlacedField[] constants, ReadOnlySpan<byte> part)
    {
        foreach (PlacedField constant in constants)
        {
            if (FieldValue.ReadInteger(constant.Field.Type, constant.Of(part)) != constant.Field.Value!.Value) { return false; }
        }
        return true;
    }

    private static void CheckLayout(BinaryLayout layout, FieldType? typeField, MessageRole role)
    {
        BinaryLayouts.CheckType(layout, typeField, role.Where);
        BinaryLayouts.CheckFields(layout, role.Where);
        role.Check([.. layout.Fields.Concat(layout.Repeat).Select(f => f.Name)]);
        if (layout.Repeat.Count > 0 && role.Kind != MessageKind.Sample)
        {
            throw new InvalidDataException($"{role.Where}: repeats fields; expected that of samples only");
        }
        if (role.SaysWords) { return; }
        foreach (BinaryField field in layout.Fields.Concat(layout.Repeat))
        {
            if (field.Name is not ("class" or "n" or "token") && !MessageRole.TickNames.Contains(field.Name)) { continue; }
            bool unsigned = field.Name is not ("class" or "n");
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

    private bool TrySplit(ReadOnlySpan<byte> body, out int samples)
    {
        samples = 1;
        int rest = body.Length - _fixedLength;
        if (rest < 0 || (_repeatLength == 0 && rest != 0)) { return false; }
        if (_repeatLength > 0)
        {
            if (rest == 0 || rest % _repeatLength != 0) { return false; }
            samples = rest / _repeatLength;
        }
        if (!ConstantsHold(_constants, body)) { return false; }
        for (int i = 0; _repeatConstants.Length > 0 && i < samples; i++)
        {
            if (!ConstantsHold(_repeatConstants, body[(_fixedLength + i * _repeatLength)..])) { return false; }
        }
        return true;
    }

    private void ReadValues(ReadOnlySpan<byte> head, ReadOnlySpan<byte> sample)
    {
        for (int i = 0; i < _channels.Length; i++)
        {
            (PlacedField placed, bool repeated) = _channels[i];
            _values[i] = FieldValue.ReadNumber(placed.Field.Type, placed.Of(repeated ? sample : head)) * placed.Field.Scale;
        }
    }

    private PlacedField? Find(params ReadOnlySpan<string> names)
    {
        foreach (PlacedField field in _fields)
        {
            if (names.Contains(field.Field.Name)) { return field; }
        }
        return null;
    }

    private (PlacedField Field, bool Repeated) FindChannel(string name)
    {
        int repeated = Array.FindIndex(_repeat, f => f.Field.Name == name);
        return repeated >= 0 ? (_repeat[repeated], true) : (Find(name)!.Value, false);
    }

    private Dictionary<string, string> Words(ReadOnlySpan<byte> head)
    {
        var words = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (PlacedField placed in _fields)
        {
            if (placed.Field.Name == "_") { continue; }
            words[placed.Field.Name] = FieldValue.IsFloat(placed.Field.Type) || placed.Field.Scale != 1
                ? (FieldValue.ReadNumber(placed.Field.Type, placed.Of(head)) * placed.Field.Scale).ToString(CultureInfo.InvariantCulture)
                : FieldValue.ReadInteger(placed.Field.Type, placed.Of(head)).ToString(CultureInfo.InvariantCulture);
        }
        return words;
    }
}
