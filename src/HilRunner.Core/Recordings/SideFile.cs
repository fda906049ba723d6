using System.Globalization;
using System.Text;
using HilRunner.Core.Files;
using HilRunner.Core.Time;
using YamlDotNet.Core;
using YamlDotNet.RepresentationModel;

namespace HilRunner.Core.Recordings;

/// <summary>NAME.yaml beside a recording: a map of single values, all optional.</summary>
internal static class SideFile
{
    private const long LargestBytes = 1_000_000;

    private static readonly string[] s_keys = ["rate", "range", "source", "subject", "mounting", "provenance", "licence", "invented"];

    public static RecordingInfo Read(string path, FaultList faults)
    {
        if (!File.Exists(path)) { return new(); }
        if (new FileInfo(path).Length > LargestBytes)
        {
            faults.Add(0, 0, $"more than {LargestBytes} bytes", "a few lines about the recording");
            return new();
        }
        using var reader = new StreamReader(path, Encoding.UTF8);
        return Read(reader, faults);
    }

    public static RecordingInfo Read(TextReader text, FaultList faults)
    {
        var info = new RecordingInfo();
        foreach (var (key, value) in Entries(text, faults))
        {
            int line = (int)value.Start.Line, column = (int)value.Start.Column;
            if (value is not YamlScalarNode { Value: { } entry } || entry.Length == 0)
            {
                faults.Add(line, column, $"no single value for {key}", "one value", "leave the key out when there is nothing to say");
                continue;
            }
            void Bad(string expected) => faults.Add(line, column, $"{FoundText.Show(entry)} as {key}", expected);
            switch (key)
            {
                case "rate": info = info with { Rate = Rate(entry, Bad) }; break;
                case "range": info = info with { RangeG = RangeG(entry, Bad) }; break;
                case "source" or "subject":
                    if (info.Source is not null) { Bad("either source or subject"); }
                    info = info with { Source = entry };
                    break;
                case "mounting": info = info with { Mounting = entry }; break;
                case "provenance": info = info with { Provenance = entry }; break;
                case "licence": info = info with { Licence = entry }; break;
                case "invented":
                    if (entry is not ("true" or "false")) { Bad("true or false"); }
                    info = info with { Invented = entry == "true" };
                    break;
            }
        }
        return info;
    }

    public static void Write(TextWriter writer, RecordingInfo info, SampleRate rate)
    {
        writer.WriteLine(FormattableString.Invariant($"rate: {rate.MilliHertz / 1000m:0.###} Hz"));
        if (info.RangeG is { } range) { writer.WriteLine(FormattableString.Invariant($"range: {range:R} g")); }
        Text(writer, "source", info.Source);
        Text(writer, "mounting", info.Mounting);
        Text(writer, "provenance", info.Provenance);
        Text(writer, "licence", info.Licence);
        if (info.Invented) { writer.WriteLine("invented: true"); }
    }

    private static List<(string Key, YamlNode Value)> Entries(TextReader text, FaultList faults)
    {
        var entries = new List<(string, YamlNode)>();
        var yaml = new YamlStream();
        try
        {
            yaml.Load(text);
        }
        catch (YamlException e)
        {
            faults.Add((int)e.Start.Line, (int)e.Start.Column, $"no readable YAML ({e.Message})", "lines of the form key: value");
            return entries;
        }
        if (yaml.Documents.Count == 0) { return entries; }
        if (yaml.Documents.Count > 1 || yaml.Documents[0].RootNode is not YamlMappingNode map)
        {
            faults.Add(1, 1, "no map", "one document of lines of the form key: value");
            return entries;
        }
        foreach (var (node, value) in map.Children)
        {
            if (node is YamlScalarNode { Value: { } key } && s_keys.Contains(key))
            {
                entries.Add((key, value));
                continue;
            }
            faults.Add((int)node.Start.Line, (int)node.Start.Column, $"key {FoundText.Show(node.ToString())}", "one of " + string.Join(", ", s_keys));
        }
        return entries;
    }

    private static SampleRate? Rate(string text, Action<string> bad)
    {
        const string expected = "a rate such as 50 Hz or 1.6 kHz, in whole millihertz, up to 10 MHz";
        decimal scale = text.EndsWith("kHz", StringComparison.Ordinal) ? 1_000_000 : 1000;
        string number = text.EndsWith("kHz", StringComparison.Ordinal) ? text[..^3] : text.EndsWith("Hz", StringComparison.Ordinal) ? text[..^2] : "";
        if (decimal.TryParse(number, NumberStyles.Float, CultureInfo.InvariantCulture, out decimal value)
            && value is > 0 and <= 10_000_000 && value * scale is >= 1 and <= 10_000_000_000 and var milliHertz && decimal.IsInteger(milliHertz))
        {
            return new((long)milliHertz);
        }
        bad(expected);
        return null;
    }

    private static double? RangeG(string text, Action<string> bad)
    {
        var (unit, divide) = text switch
        {
            _ when text.EndsWith("mg", StringComparison.Ordinal) => ("mg", 1000),
            _ when text.EndsWith("m/s2", StringComparison.Ordinal) => ("m/s2", Recording.StandardGravity),
            _ when text.EndsWith("m/s²", StringComparison.Ordinal) => ("m/s²", Recording.StandardGravity),
            _ when text.EndsWith('g') => ("g", 1.0),
            _ => ("", 1.0),
        };
        if (unit.Length > 0 && CsvText.TryNumber(text.AsSpan(0, text.Length - unit.Length), out double value) && value > 0) { return value / divide; }
        bad("a full scale such as 8 g, 2000 mg or 20 m/s2");
        return null;
    }

    /// <summary>Double-quoted, which holds any text on one line (YAML 1.2, 7.3.1).</summary>
    private static void Text(TextWriter writer, string key, string? value)
    {
        if (string.IsNullOrEmpty(value)) { return; }
        var quoted = new StringBuilder();
        foreach (var rune in value.EnumerateRunes())
        {
            if (rune.Value is '"' or '\\') { quoted.Append('\\').Append((char)rune.Value); }
            else if (Rune.IsControl(rune) || rune.Value is 0x2028 or 0x2029 or 0xFEFF)
            {
                quoted.Append(CultureInfo.InvariantCulture, $"\\u{rune.Value:X4}");
            }
            else { quoted.Append(rune.ToString()); }
        }
        writer.WriteLine($"{key}: \"{quoted}\"");
    }
}
