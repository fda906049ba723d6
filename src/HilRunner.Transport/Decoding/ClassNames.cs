using System.Globalization;
using System.Text;
using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Decoding;

/// <summary>
/// From what the device says (a name, a number, bits of a number) to the class name. Names are kept in bounded tables, so that
/// known ones cost no allocation; beyond that many different ones each is made anew. Where the rig gives a mapping it is closed:
/// what is neither a value nor a name of it is no class. For one decoder.
/// </summary>
internal sealed class ClassNames
{
    /// <summary>Different values remembered; far more than any device has classes, but noise can look like a class.</summary>
    public const int Capacity = 1024;

    private const int LongestKept = 256;
    private readonly BitField? _field;
    private readonly IReadOnlyDictionary<string, string> _mapping;
    private readonly Dictionary<string, ClassName> _byText = new(StringComparer.Ordinal);
    private readonly Dictionary<string, ClassName>.AlternateLookup<ReadOnlySpan<char>> _lookup;
    private readonly Dictionary<Int128, ClassName> _byValue = [];

    public ClassNames(BitField? field, IReadOnlyDictionary<string, string> mapping)
    {
        (_field, _mapping) = (field, mapping);
        _lookup = _byText.GetAlternateLookup<ReadOnlySpan<char>>();
    }

    /// <summary>False when a number is needed, for a bit field, and this is none.</summary>
    public bool TryName(ReadOnlySpan<byte> text, out ClassName name)
    {
        name = default;
        if (_field is not null)
        {
            if (!ulong.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out ulong value)) { return false; }
            name = Name(value);
            return true;
        }
        if (text.Length > LongestKept)
        {
            name = Map(Encoding.UTF8.GetString(text));
            return true;
        }
        Span<char> chars = stackalloc char[LongestKept];
        ReadOnlySpan<char> key = chars[..Encoding.UTF8.GetChars(text, chars)];
        if (_lookup.TryGetValue(key, out ClassName known))
        {
            name = known;
            return true;
        }
        name = Map(key.ToString());
        if (_byText.Count < Capacity) { _lookup[key] = name; }
        return true;
    }

    public ClassName Name(Int128 value)
    {
        if (_field is not null) { value = ((ulong)value & _field.Mask) >> _field.Shift; }
        if (_byValue.TryGetValue(value, out ClassName known)) { return known; }
        ClassName name = Map(value.ToString(CultureInfo.InvariantCulture));
        if (_byValue.Count < Capacity) { _byValue[value] = name; }
        return name;
    }

    private ClassName Map(string raw)
    {
        if (_mapping.Count == 0) { return new(raw, null); }
        if (_mapping.TryGetValue(raw, out string? name)) { return new(name, null); }
        if (_mapping.Values.Contains(raw)) { return new(raw, null); }
        // "03" is the integer 3.
        return Int128.TryParse(raw, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out Int128 value)
            && _mapping.TryGetValue(value.ToString(CultureInfo.InvariantCulture), out name)
            ? new(name, null)
            : new(null, raw);
    }
}

/// <summary>What a device said for a class: a class of the rig's, or a value that the rig's mapping does not hold.</summary>
internal readonly record struct ClassName(string? Known, string? Unknown);
