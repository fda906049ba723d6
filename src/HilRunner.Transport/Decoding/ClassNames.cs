using System.Globalization;
using System.Text;
using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Decoding;

/// <summary>
/// From what the device says (a name, a number, bits of a number) to the class name. Names are kept in bounded tables, so that
/// known ones cost no allocation; beyond that many different ones each is made anew. For one decoder.
/// </summary>
internal sealed class ClassNames
{
    /// <summary>Different values remembered; far more than any device has classes, but noise can look like a class.</summary>
    public const int Capacity = 1024;

    private const int LongestKept = 256;
    private readonly BitField? _field;
    private readonly IReadOnlyDictionary<string, string> _mapping;
    private readonly Dictionary<string, string> _byText = new(StringComparer.Ordinal);
    private readonly Dictionary<string, string>.AlternateLookup<ReadOnlySpan<char>> _lookup;
    private readonly Dictionary<Int128, string> _byValue = [];

    public ClassNames(BitField? field, IReadOnlyDictionary<string, string> mapping)
    {
        (_field, _mapping) = (field, mapping);
        _lookup = _byText.GetAlternateLookup<ReadOnlySpan<char>>();
    }

    /// <summary>False when a number is needed, for a bit field, and this is none.</summary>
    public bool TryName(ReadOnlySpan<byte> text, out string name)
    {
        name = "";
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
        if (_lookup.TryGetValue(key, out string? known))
        {
            name = known;
            return true;
        }
        name = Map(key.ToString());
        if (_byText.Count < Capacity) { _lookup[key] = name; }
        return true;
    }

    public string Name(Int128 value)
    {
        if (_field is not null) { value = ((ulong)value & _field.Mask) >> _field.Shift; }
        if (_byValue.TryGetValue(value, out string? known)) { return known; }
        string name = Map(value.ToString(CultureInfo.InvariantCulture));
        if (_byValue.Count < Capacity) { _byValue[value] = name; }
        return name;
    }

    private string Map(string raw)
    {
        if (_mapping.TryGetValue(raw, out string? name)) { return name; }
        // "03" is the integer 3.
        return Int128.TryParse(raw, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out Int128 value)
            && _mapping.TryGetValue(value.ToString(CultureInfo.InvariantCulture), out name)
            ? name
            : raw;
    }
}
