using HilRunner.Core.Rigs;
using HilRunner.Transport.Framing;

namespace HilRunner.Transport.Decoding;

/// <summary>What holds for every binary layout, sent or received.</summary>
internal static class BinaryLayouts
{
    public static void CheckType(BinaryLayout layout, FieldType? typeField, string where)
    {
        if (typeField is null && layout.Type is not null)
        {
            throw new InvalidDataException($"{where}: type value {layout.Type} although the framing has no type field; expected a type field there or no type value here");
        }
        if (typeField is { } type)
        {
            if (FieldValue.IsFloat(type)) { throw new InvalidDataException($"framing: a type field of type {type}; expected an integer"); }
            if (layout.Type is not { } value) { throw new InvalidDataException($"{where}: no type value although the framing has a type field; expected one"); }
            if (!FieldValue.Fits(type, value)) { throw new InvalidDataException($"{where}: type value {value} does not fit {type}"); }
        }
    }

    public static void CheckFields(BinaryLayout layout, string where)
    {
        BinaryField[] fields = [.. layout.Fields, .. layout.Repeat];
        string? twice = fields.Where(f => f.Name != "_").GroupBy(f => f.Name).FirstOrDefault(g => g.Count() > 1)?.Key;
        if (twice is not null) { throw new InvalidDataException($"{where}: two fields named {twice}; expected each name once"); }
        foreach (BinaryField field in fields)
        {
            if (!double.IsFinite(field.Scale) || field.Scale == 0)
            {
                throw new InvalidDataException(FormattableString.Invariant($"{where}: field {field.Name} has scale {field.Scale}; expected a number other than 0"));
            }
            if (field.Value is not { } value) { continue; }
            if (!FieldValue.Fits(field.Type, value))
            {
                throw new InvalidDataException($"{where}: field {field.Name} is always {value}, which type {field.Type} cannot hold; expected a wider type");
            }
        }
    }
}
