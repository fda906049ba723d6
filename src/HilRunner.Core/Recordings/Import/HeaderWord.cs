using System.Text.RegularExpressions;

namespace HilRunner.Core.Recordings.Import;

/// <summary>What the name of a column says: a quantity, a unit, both or neither.</summary>
/// <param name="Role">ax … gz, t, label, or x y z, of which the name does not say whether it is acceleration; null: no quantity that counts.</param>
/// <param name="Unit">As in a map; null: not said.</param>
internal readonly partial record struct HeaderWord(string? Role, string? Unit)
{
    private static readonly Dictionary<string, string> s_units = new(StringComparer.Ordinal)
    {
        ["g"] = "g", ["mg"] = "mg",
        ["m/s2"] = "m/s2", ["m/s^2"] = "m/s2", ["m/s²"] = "m/s2", ["m/s/s"] = "m/s2", ["mps2"] = "m/s2", ["ms2"] = "m/s2", ["ms-2"] = "m/s2", ["m.s-2"] = "m/s2", ["m/s**2"] = "m/s2",
        ["dps"] = "dps", ["deg/s"] = "dps", ["°/s"] = "dps", ["degps"] = "dps", ["mdps"] = "mdps",
        ["rad/s"] = "rad/s", ["radps"] = "rad/s", ["rads"] = "rad/s",
        ["s"] = "s", ["sec"] = "s", ["secs"] = "s", ["seconds"] = "s",
        ["ms"] = "ms", ["msec"] = "ms", ["millis"] = "ms", ["milliseconds"] = "ms",
        ["us"] = "us", ["µs"] = "us", ["μs"] = "us", ["usec"] = "us", ["micros"] = "us", ["microseconds"] = "us",
        ["ns"] = "ns", ["nsec"] = "ns", ["nanos"] = "ns", ["nanoseconds"] = "ns", ["iso"] = "iso", ["iso8601"] = "iso",
    };

    public static HeaderWord Of(string name)
    {
        string lower = name.Trim().ToLowerInvariant();
        var bracket = InBrackets().Match(lower);
        string? unit = null;
        if (bracket.Success && s_units.TryGetValue(bracket.Groups[1].Value.Replace(" ", "", StringComparison.Ordinal), out unit)) { lower = lower.Remove(bracket.Index, bracket.Length).Trim(); }
        int at = lower.LastIndexOfAny(['_', ' ', '.', '-', ':']);
        if (unit is null && at > 0 && RoleOf(lower[..at]) is { } before && s_units.TryGetValue(lower[(at + 1)..], out string? after)) { return new(before, after); }
        string? role = RoleOf(lower);
        return new(role, unit ?? (role == "t" ? TimeUnitOf(lower) : null));
    }

    private static string? TimeUnitOf(string name) => s_units.TryGetValue(Letters(name), out string? unit) && unit is "s" or "ms" or "us" or "ns" ? s_units[Letters(name)] : null;

    private static string Letters(string name) => string.Concat(name.Where(char.IsAsciiLetterOrDigit));

    private static string? RoleOf(string name)
    {
        string word = Letters(name);
        if (Acceleration().Match(word) is { Success: true } a) { return "a" + a.Groups[1].Value + a.Groups[2].Value; }
        if (Gyro().Match(word) is { Success: true } g) { return "g" + g.Groups[1].Value + g.Groups[2].Value; }
        return word switch
        {
            "x" or "y" or "z" => word,
            "t" or "time" or "timestamp" or "ts" or "times" or "elapsed" or "elapsedtime" or "seconds" or "millis" or "micros" or "milliseconds" or "microseconds" or "nanoseconds" or "datetime" or "utc" => "t",
            "label" or "class" or "activity" or "annotation" => "label",
            _ => null,
        };
    }

    [GeneratedRegex(@"[(\[{]\s*([^)\]}]+?)\s*[)\]}]")]
    private static partial Regex InBrackets();

    [GeneratedRegex(@"^(?:(?:a|acc|accel|acceleration|accelerometer)([xyz])|([xyz])(?:acc|accel|acceleration|accelerometer))\z")]
    private static partial Regex Acceleration();

    [GeneratedRegex(@"^(?:(?:g|gyr|gyro|gyroscope|w|omega|angularvelocity|angularrate|rotationrate)([xyz])|([xyz])(?:gyr|gyro|gyroscope))\z")]
    private static partial Regex Gyro();
}
