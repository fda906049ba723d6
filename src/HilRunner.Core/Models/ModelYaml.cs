using System.Globalization;
using HilRunner.Core.Time;
using YamlDotNet.Core;
using YamlDotNet.RepresentationModel;

namespace HilRunner.Core.Models;

/// <summary>
/// Values of a model file with their units. Every fault is noted with its place and reading goes on with a harmless value,
/// so that one go finds them all.
/// </summary>
internal sealed class ModelYaml(string path)
{
    private readonly List<Fault> _faults = [];

    /// <exception cref="BadInputException">No YAML map at all.</exception>
    public YamlMappingNode Load(string text)
    {
        try
        {
            YamlStream stream = new();
            stream.Load(new StringReader(text));
            if (stream.Documents.Count == 1 && stream.Documents[0].RootNode is YamlMappingNode map) { return map; }
            _faults.Add(new(path, 1, 1, "no map", "one YAML document that starts with 'model: NAME'"));
        }
        catch (YamlException e)
        {
            _faults.Add(new(path, (int)e.Start.Line, (int)e.Start.Column, e.Message, "YAML"));
        }
        throw new BadInputException(_faults);
    }

    public void ThrowIfFaulty()
    {
        if (_faults.Count != 0) { throw new BadInputException(_faults); }
    }

    public void Fault(YamlNode node, string found, string expected, string remedy = "") =>
        _faults.Add(new(path, (int)node.Start.Line, (int)node.Start.Column, found, expected, remedy));

    public static YamlNode? Child(YamlMappingNode map, string key) =>
        map.Children.TryGetValue(new YamlScalarNode(key), out YamlNode? value) ? value : null;

    public void Keys(YamlMappingNode map, string[] known, string[]? optional = null)
    {
        foreach (YamlNode key in map.Children.Keys)
        {
            if (!known.Contains(key.ToString())) { Fault(key, $"key '{key}'", string.Join(", ", known)); }
        }
        foreach (string key in known)
        {
            if (optional?.Contains(key) == true || Child(map, key) is not null) { continue; }
            Fault(map, $"no key '{key}'", string.Join(", ", known));
        }
    }

    public YamlMappingNode? Map(YamlMappingNode map, string key) => Child(map, key) is { } node ? AsMap(node, $"a map for '{key}'") : null;

    public YamlMappingNode? AsMap(YamlNode node, string expected)
    {
        if (node is YamlMappingNode map) { return map; }
        Fault(node, Shown(node), expected);
        return null;
    }

    public IEnumerable<YamlNode> Sequence(YamlMappingNode map, string key, int least, int most)
    {
        if (Child(map, key) is not { } node) { return []; }
        if (node is YamlSequenceNode list && list.Children.Count >= least && list.Children.Count <= most) { return list.Children; }
        Fault(node, Shown(node), FormattableString.Invariant($"a list of {least} to {most} entries"));
        return [];
    }

    /// <summary>"" where there is none (a missing key is reported by <see cref="Keys"/>).</summary>
    public string Text(YamlMappingNode map, string key)
    {
        if (Child(map, key) is not { } node) { return ""; }
        if (node is YamlScalarNode { Value: { Length: > 0 } value }) { return value; }
        Fault(node, Shown(node), $"a word for '{key}'");
        return "";
    }

    public int Integer(YamlMappingNode map, string key, int least, int most)
    {
        if (Child(map, key) is not { } node) { return least; }
        if (int.TryParse(node.ToString(), NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out int value)
            && value >= least && value <= most)
        {
            return value;
        }
        Fault(node, Shown(node), FormattableString.Invariant($"a whole number from {least} to {most}"));
        return least;
    }

    /// <summary>A share from 0 to 1; 1 where the key is absent.</summary>
    public double Share(YamlMappingNode map, string key)
    {
        if (Child(map, key) is not { } node) { return 1; }
        if (double.TryParse(node.ToString(), NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out double value)
            && value <= 1)
        {
            return value;
        }
        Fault(node, Shown(node), "a share from 0 to 1");
        return 1;
    }

    public SampleRate Rate(YamlMappingNode map, string key)
    {
        if (Child(map, key) is not { } node) { return new(1000); }
        if (Quantity(node, "a rate such as 50 Hz", ("Hz", 1000), ("kHz", 1_000_000)) is not { } milliHertz) { return new(1000); }
        if (milliHertz is >= 1 and <= 10_000_000_000 && milliHertz == decimal.Truncate(milliHertz)) { return new((long)milliHertz); }
        Fault(node, Shown(node), "a rate of 0.001 Hz to 10000 kHz in whole millihertz");
        return new(1000);
    }

    /// <summary>A duration that is a whole number of samples.</summary>
    public int Samples(YamlMappingNode map, string key, SampleRate rate, int least, int most)
    {
        if (Child(map, key) is not { } node) { return least; }
        if (Quantity(node, "a duration such as 500 ms", ("s", 1), ("ms", 0.001m)) is not { } seconds) { return least; }
        decimal samples = seconds * rate.MilliHertz / 1000;
        if (samples >= least && samples <= most && samples == decimal.Truncate(samples)) { return (int)samples; }
        Fault(node, Shown(node), FormattableString.Invariant($"a whole number of samples at {rate}, {least} to {most} of them"));
        return least;
    }

    /// <summary>g of one count.</summary>
    public double Acceleration(YamlNode node) => (double)Positive(node, "an acceleration such as 1 mg", ("g", 1), ("mg", 0.001m));

    /// <summary>°/s of one count.</summary>
    public double AngularRate(YamlNode node) => (double)Positive(node, "an angular rate such as 0.01 dps", ("dps", 1), ("mdps", 0.001m));

    /// <summary>An acceleration in whole counts, rounded half to even.</summary>
    public int Counts(YamlMappingNode map, string key, double gPerCount)
    {
        if (Child(map, key) is not { } node) { return 0; }
        double counts = Math.Round(Acceleration(node) / gPerCount);
        if (counts is >= 0 and <= 65535) { return (int)counts; }
        Fault(node, Shown(node), "an acceleration of at most 65535 counts");
        return 0;
    }

    private decimal Positive(YamlNode node, string expected, params ReadOnlySpan<(string Unit, decimal Factor)> units)
    {
        if (Quantity(node, expected, units) is not { } value) { return 1; }
        if (value > 0) { return value; }
        Fault(node, Shown(node), expected + ", above 0");
        return 1;
    }

    /// <summary>Null, and a fault, where it is no such quantity.</summary>
    private decimal? Quantity(YamlNode node, string expected, params ReadOnlySpan<(string Unit, decimal Factor)> units)
    {
        string text = node is YamlScalarNode { Value: { } value } ? value.Trim() : "";
        foreach ((string unit, decimal factor) in units)
        {
            if (text.EndsWith(unit, StringComparison.Ordinal)
                && decimal.TryParse(text[..^unit.Length].TrimEnd(), NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out decimal number)
                && number < 1_000_000_000)
            {
                return number * factor;
            }
        }
        Fault(node, Shown(node), expected);
        return null;
    }

    private static string Shown(YamlNode node) => node switch
    {
        YamlScalarNode { Value: { } value } => $"'{value}'",
        YamlMappingNode => "a map",
        YamlSequenceNode list => FormattableString.Invariant($"a list of {list.Children.Count}"),
        _ => "nothing",
    };
}
