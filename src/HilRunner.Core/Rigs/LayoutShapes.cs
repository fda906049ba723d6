using HilRunner.Core.Documents;

namespace HilRunner.Core.Rigs;

/// <summary>Binary frames as field lists.</summary>
internal static class LayoutShapes
{
    public static Shape<FieldType> AnyType { get; } = Types("u8", "i8", "u16", "i16", "u24", "i24", "u32", "i32", "u64", "i64", "f32", "f64");
    public static Shape<FieldType> UnsignedType { get; } = Types("u8", "u16", "u24", "u32");

    private static readonly Key<double> Scale = new("scale", Shapes.Number(-1e18, 1e18), "Decoded value = raw × scale.", false, "1");

    private static readonly Key<Int128> Value = new("value", new IntegerShape(long.MinValue, long.MaxValue),
        "Constant: sent so; a received frame with another value here is not this message.", false, null);

    public static Shape<BinaryField> Field { get; } = new NamedShape<FieldType>(
        "one field with its type, such as {n: u32} or {score: u16, scale: 0.001}", "NAME", "^[a-z_][a-z0-9_]{0,39}$", AnyType, 1, 1, Scale, Value)
        .Select((named, node, reading) =>
        {
            var (name, type) = named.Own[0];
            long? value = (long?)named.Fixed.MaybeValue(Value);
            if (value is { } constant && !Fits(constant, type)) { reading.Refuse(named.Fixed.NodeOf(Value), named.Fixed.NodeOf(Value).Shown, $"a whole number that fits {TypeName(type)}"); }
            if (named.Fixed.Get(Scale) == 0) { reading.Refuse(named.Fixed.NodeOf(Scale), "0", "a scale other than 0"); }
            return new BinaryField(name.Text, type, named.Fixed.Get(Scale), value);
        });

    public static Shape<IReadOnlyList<BinaryField>> Fields { get; } = new ListShape<BinaryField>("a list of fields, such as [{class: u8}, {n: u32}]", Field, 0, 256);

    public static string TypeDoc => "Value of the frame's type field; needed when the framing has one.";

    public static Key<long> TypeKey(MapKeys keys) => keys.Optional("type", new IntegerShape(0, uint.MaxValue).Select(v => (long)v), TypeDoc);

    /// <summary>{type: 0x10, fields: […], repeat: […]}</summary>
    public static Shape<BinaryLayout> Layout { get; } = MapShape.Of<BinaryLayout>("Binary frames", "a binary frame, such as {type: 0x10, fields: [{class: u8}]}", keys =>
    {
        var type = TypeKey(keys);
        var fields = keys.Required("fields", Fields, "Fields in order; the name _ is skipped (sent as 0). Types: u8 i8 u16 i16 u24 i24 u32 i32 u64 i64 f32 f64, little-endian; with be or le at the end: u16be.");
        var repeat = keys.Default("repeat", Fields, "[]", "Fields that are repeated once a sample, after fields.");
        return (entries, _) => new BinaryLayout(entries.MaybeValue(type), entries.Get(fields)) { Repeat = entries.Get(repeat) };
    });

    private static WordShape<FieldType> Types(params string[] names)
    {
        var words = new List<(string, FieldType)>();
        foreach (string name in names)
        {
            string typed = char.ToUpperInvariant(name[0]) + name[1..];
            if (name.EndsWith('8'))
            {
                words.Add((name, Enum.Parse<FieldType>(typed)));
                continue;
            }
            words.Add((name, Enum.Parse<FieldType>(typed + "Le")));
            words.Add((name + "le", Enum.Parse<FieldType>(typed + "Le")));
            words.Add((name + "be", Enum.Parse<FieldType>(typed + "Be")));
        }
        return new([.. words]) { Called = "a type: " + string.Join(" ", names) };
    }

    private static string TypeName(FieldType type) => type.ToString().ToLowerInvariant();

    private static bool Fits(long value, FieldType type)
    {
        string name = TypeName(type);
        if (name[0] == 'f') { return true; }
        int bits = int.Parse(name.TrimStart('u', 'i').TrimEnd('l', 'b', 'e'), System.Globalization.CultureInfo.InvariantCulture);
        Int128 min = name[0] == 'u' ? 0 : -(Int128.One << (bits - 1));
        Int128 max = name[0] == 'u' ? (Int128.One << bits) - 1 : (Int128.One << (bits - 1)) - 1;
        return value >= min && value <= max;
    }
}
