using System.Globalization;
using HilRunner.Core.Documents;

namespace HilRunner.Core.Rigs;

/// <summary>The map from raw values to class names.</summary>
internal static class ClassShapes
{
    private static readonly Key<ulong> Mask = new("mask", Shapes.Unsigned,
        "Bit field: the class is (value >> shift) & mask. For devices that pack the class with other bits.", false, null);

    private static readonly Key<int> Shift = new("shift", Shapes.Integer(0, 63), "Bit field: how far the value is shifted right before the mask.", false, "0");

    public const string ClassesDoc = "Raw value → class name, in the order that reports use. Absent: classes are named as the device names them.";

    public static Shape<ClassMap> Map { get; } = new NamedShape<string>(
        "a map from raw values to class names, such as {0: resting, 1: carried}", "VALUE", "^\\S.{0,199}$", ClassNames.Name, 0,
            1_000, Mask, Shift).Select(Convert);

    /// <summary>field: the same bit field without the names.</summary>
    public static Shape<BitField> Field { get; } = MapShape.Of<BitField>(null, "a bit field, such as {mask: 0x07, shift: 3}", keys =>
    {
        var mask = keys.Required("mask", Shapes.Unsigned, Mask.Doc);
        var shift = keys.Default("shift", Shapes.Integer(0, 63), "0", Shift.Doc);
        return (entries, reading) => FieldOf(entries.Get(mask), entries.Get(shift), entries.NodeOf(mask), reading);
    });

    private static ClassMap Convert(Named<string> named, Node node, Reading reading)
    {
        var classes = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (var (key, name) in named.Own)
        {
            string raw = key.Kind == ScalarKind.Integer && CoreSchema.TryInteger(key.Text, out Int128 value)
                ? value.ToString(CultureInfo.InvariantCulture) : key.Text;
            if (!classes.TryAdd(raw, name)) { reading.Faults.Add(key, $"the value {raw} a second time in {node.Path}", "each value once"); }
        }
        BitField? field = named.Fixed.MaybeValue(Mask) is { } mask ? FieldOf(mask, named.Fixed.Get(Shift), named.Fixed.NodeOf(Mask), reading) : null;
        if (field is null && named.Fixed.Has(Shift) && !named.Fixed.Has(Mask))
        {
            reading.Faults.Add(named.Fixed.NodeOf(Shift), $"shift without mask in {node.Path}", "both, such as {mask: 0x07, shift: 3}");
        }
        return new(classes, field);
    }

    private static BitField FieldOf(ulong mask, int shift, Node node, Reading reading)
    {
        if (mask == 0) { reading.Refuse(node, "0", "a mask with at least one bit"); }
        if (mask << shift >> shift != mask) { reading.Refuse(node, $"0x{mask:x} at shift {shift}", "a mask that stays within 64 bits when shifted", "the mask applies after the shift"); }
        return new(mask << shift, shift);
    }
}

internal sealed record ClassMap(IReadOnlyDictionary<string, string> Names, BitField? Field);
