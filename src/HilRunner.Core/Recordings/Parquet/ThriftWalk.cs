namespace HilRunner.Core.Recordings.Parquet;

/// <summary>What a field of a Thrift struct must be.</summary>
/// <param name="Wire">Type of the compact protocol; a Boolean is 1 or 2.</param>
/// <param name="Item">Of a list's elements.</param>
/// <param name="Struct">Of a struct.</param>
internal sealed record ThriftField(int Wire, ThriftField? Item = null, ThriftStruct? Struct = null);

/// <summary>The fields of a struct that readers of it know, by number.</summary>
internal sealed record ThriftStruct(string Name, IReadOnlyDictionary<int, ThriftField> Fields);

/// <summary>
/// Goes over a struct in the compact protocol of Apache Thrift (its specification, thrift-compact-protocol.md) without keeping it: every
/// byte belongs to a field, every known field has its type, no unknown one is a list or struct, and nothing goes beyond the end.
/// </summary>
internal ref struct ThriftWalk(ReadOnlySpan<byte> bytes)
{
    public const int True = 1, False = 2, I8 = 3, I16 = 4, I32 = 5, I64 = 6, Double = 7, Binary = 8, List = 9, Set = 10, Map = 11, Struct = 12, Uuid = 13;

    private const int Deepest = 32;

    private readonly ReadOnlySpan<byte> _bytes = bytes;

    public int Read { get; private set; }

    /// <param name="whole">Called for every whole number of the struct and those inside it.</param>
    /// <exception cref="InvalidDataException">It is none; says what is wrong.</exception>
    public void Over(ThriftStruct known, Action<string, int, long>? whole = null) => Over(known, whole, 0);

    private void Over(ThriftStruct known, Action<string, int, long>? whole, int depth)
    {
        if (depth > Deepest) { throw new InvalidDataException("structs within structs without end"); }
        int field = 0;
        while (true)
        {
            int header = Next();
            if (header == 0) { return; }
            int wire = header & 15;
            field = header >> 4 is > 0 and var step ? field + step : checked((int)ZigZag());
            var expected = known.Fields.GetValueOrDefault(field);
            if (expected is not null && !Fits(expected.Wire, wire)) { throw new InvalidDataException($"field {field} of {known.Name} of another type"); }
            // The library skips single values that it does not know, but loses its way in lists and structs.
            if (expected is null && wire is List or Set or Map or Struct or Uuid) { throw new InvalidDataException($"field {field} of {known.Name}, a list or struct that this reader does not know"); }
            if (wire is True or False) { continue; }
            long value = Value(wire, expected, whole, depth);
            if (wire is I8 or I16 or I32 or I64) { whole?.Invoke(known.Name, field, value); }
        }
    }

    private static bool Fits(int expected, int wire) => expected == wire || (expected == True && wire == False);

    /// <summary>The value where it is a whole number, else 0.</summary>
    private long Value(int wire, ThriftField? expected, Action<string, int, long>? whole, int depth)
    {
        switch (wire)
        {
            case True or False or I8: return (sbyte)Next();
            case I16 or I32 or I64:
                long value = ZigZag();
                if ((wire == I32 && value is < int.MinValue or > int.MaxValue) || (wire == I16 && value is < short.MinValue or > short.MaxValue)) { throw new InvalidDataException("a number out of range"); }
                return value;
            case Double: Skip(8); return 0;
            case Binary: Skip(VarInt()); return 0;
            case List:
                int header = Next();
                ulong count = header >> 4 == 15 ? VarInt() : (ulong)(header >> 4);
                if (count > 0 && !Fits(expected!.Item!.Wire, header & 15)) { throw new InvalidDataException("a list of another type"); }
                for (ulong i = 0; i < count; i++) { Value(header & 15, expected!.Item, whole, depth + 1); }
                return 0;
            case Struct: Over(expected!.Struct!, whole, depth + 1); return 0;
            default: throw new InvalidDataException($"a field of unknown type {wire}");
        }
    }

    private int Next() => Read < _bytes.Length ? _bytes[Read++] : throw new InvalidDataException("an end in the middle of a struct");

    private void Skip(ulong length)
    {
        if (length > (ulong)(_bytes.Length - Read)) { throw new InvalidDataException("a length beyond the end"); }
        Read += (int)length;
    }

    private ulong VarInt()
    {
        ulong value = 0;
        for (int shift = 0; shift < 64; shift += 7)
        {
            int next = Next();
            value |= (ulong)(next & 0x7F) << shift;
            if (next < 0x80) { return value; }
        }
        throw new InvalidDataException("a number of more than 64 bits");
    }

    private long ZigZag()
    {
        ulong value = VarInt();
        return (long)(value >> 1) ^ -(long)(value & 1);
    }
}
