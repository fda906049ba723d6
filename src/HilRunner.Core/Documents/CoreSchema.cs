using System.Globalization;
using System.Text.RegularExpressions;

namespace HilRunner.Core.Documents;

/// <summary>Plain scalars by the tag resolution of the YAML 1.2 core schema (YAML 1.2.2, section 10.3.2).</summary>
internal static partial class CoreSchema
{
    public static ScalarKind KindOf(string plain) => plain switch
    {
        "" or "~" or "null" or "Null" or "NULL" => ScalarKind.Null,
        "true" or "True" or "TRUE" or "false" or "False" or "FALSE" => ScalarKind.Boolean,
        _ when IntegerForm().IsMatch(plain) => ScalarKind.Integer,
        _ when FloatForm().IsMatch(plain) => ScalarKind.Float,
        _ => ScalarKind.Text,
    };

    /// <summary>Decimal, 0x hexadecimal and 0o octal; false when it is no integer or does not fit.</summary>
    public static bool TryInteger(string plain, out Int128 value)
    {
        value = 0;
        if (!IntegerForm().IsMatch(plain)) { return false; }
        if (plain.StartsWith("0x", StringComparison.Ordinal))
        {
            return plain.Length <= 18 && Int128.TryParse("0" + plain[2..], NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out value);
        }
        if (plain.StartsWith("0o", StringComparison.Ordinal))
        {
            if (plain.Length > 24) { return false; }
            foreach (char digit in plain[2..]) { value = value * 8 + (digit - '0'); }
            return true;
        }
        return Int128.TryParse(plain, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out value);
    }

    [GeneratedRegex(@"^([-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+)\z", RegexOptions.CultureInvariant)]
    private static partial Regex IntegerForm();

    [GeneratedRegex(@"^([-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?|[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN))\z", RegexOptions.CultureInvariant)]
    private static partial Regex FloatForm();
}
