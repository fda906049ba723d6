using System.Globalization;
using HilRunner.Core.Documents;
using HilRunner.Core.Files;

namespace HilRunner.Core.Recordings.Import;

/// <summary>Reads maps from files and options, and writes them.</summary>
public static class ImportMapFile
{
    /// <summary>Where options come from, as faults name it.</summary>
    public const string CommandLine = "command line";

    /// <param name="path">Null: options alone.</param>
    /// <param name="settings">They replace what the file says under the same key.</param>
    /// <exception cref="BadInputException">The file cannot be read or used; holds every fault, with its place.</exception>
    public static ImportMap Read(string? path, IReadOnlyList<MapSetting>? settings = null)
    {
        string name = path ?? CommandLine;
        var faults = new DocumentFaults(name);
        Node? root = path is null
            ? new MapNode("", 0, 0, [new(new("import", 0, 0, "import", true), new ScalarNode("import", 0, 0, "import", true))])
            : YamlTree.Read(DocumentReader.ReadText(path), faults);
        if (root is MapNode map) { root = (settings ?? []).Aggregate(map, (m, s) => Put(m, s.Keys, s.Node(path is null ? "" : $" ({CommandLine})"))); }
        ImportMap? value = null;
        if (root is not null) { ImportMapShape.Shape.TryRead(root, new Reading(faults, Path.GetDirectoryName(name) ?? "", false), out value); }
        faults.ThrowIfAny();
        return value!;
    }

    /// <summary>What a map file says of the form and the columns of a file, as settings under other keys: for a second file.</summary>
    /// <param name="option">That names the map.</param>
    /// <param name="under">Keys that the settings stand under.</param>
    /// <exception cref="BadInputException">The file cannot be read or used.</exception>
    public static IReadOnlyList<MapSetting> ReadingSettings(string option, string[] under, string path)
    {
        _ = Read(path);
        var root = (MapNode)YamlTree.Read(DocumentReader.ReadText(path), new DocumentFaults(path))!;
        return [.. root.Entries.Where(e => ImportReadingShape.Keys.Contains(e.Key.Text)).Select(e => new MapSetting(option, [.. under, e.Key.Text], e.Value))];
    }

    /// <summary>Writes the map so that reading it gives the same map.</summary>
    /// <exception cref="IOException">Could not be written.</exception>
    public static void Write(string path, ImportMap map) => AtomicFile.WriteText(path, writer => Write(writer, map));

    internal static void Write(TextWriter writer, ImportMap map)
    {
        var yaml = new YamlLines(writer);
        yaml.Text("import", map.Name);
        yaml.Text("file_name", map.FileName);
        Reading(yaml, map.Reading);
        yaml.Raw("rate", map.Rate?.ToString());
        yaml.Raw("resample", map.Resample?.ToString());
        yaml.Raw("gap", map.GapNs is { } gap ? $"{gap.ToString(CultureInfo.InvariantCulture)} ns" : null);
        yaml.Raw("at_gaps", map.SplitAtGaps ? "split" : null);
        yaml.Raw("bad_rows", map.SplitAtBadRows ? "split" : null);
        yaml.Raw("split_by", map.SplitBy.Count == 0 ? null : List(map.SplitBy));
        Texts(yaml, "where", map.Where);
        Texts(yaml, "names", map.Names);
        if (map.Labels is { } labels) { yaml.Map("labels", y => Labels(y, labels)); }
        if (map.With is { } with)
        {
            yaml.Map("with", y =>
            {
                y.Text("path", with.Path);
                y.Raw("join", with.Join is { } join ? join == ImportJoin.Row ? "row" : "time" : null);
                y.Raw("optional", with.Optional ? "true" : null);
                Reading(y, with.Reading);
            });
        }
        yaml.Text("source", map.Info.Source);
        yaml.Text("mounting", map.Info.Mounting);
        yaml.Text("provenance", map.Info.Provenance);
        yaml.Text("licence", map.Info.Licence);
        yaml.Raw("range", map.Info.RangeG is { } range ? FormattableString.Invariant($"{(decimal)range} g") : null);
        yaml.Raw("invented", map.Info.Invented ? "true" : null);
    }

    private static void Reading(YamlLines yaml, ImportReading reading)
    {
        yaml.Raw("format", reading.Format switch { null => null, ImportFormat.Text => "text", ImportFormat.JsonLines => "jsonl", _ => "parquet" });
        yaml.Raw("encoding", reading.Encoding switch { null => null, TextCoding.Utf8 => "utf-8", TextCoding.Utf16 => "utf-16", TextCoding.Utf16BigEndian => "utf-16be", _ => "latin1" });
        yaml.Raw("separator", reading.Separator);
        yaml.Raw("header", Flag(reading.Header));
        yaml.Raw("skip", reading.Skip?.ToString(CultureInfo.InvariantCulture));
        yaml.Text("comment", reading.Comment);
        yaml.Raw("decimal", reading.DecimalComma is { } comma ? comma ? "comma" : "point" : null);
        yaml.Text("line_end", reading.LineEnd);
        yaml.Raw("quotes", Flag(reading.Quotes));
        if (reading.Columns is { } columns && reading.AllColumns) { yaml.Raw("columns", List(columns.Select(c => c.Role))); }
        else if (reading.Columns is { } picked)
        {
            yaml.Map("columns", y =>
            {
                foreach (var column in picked) { y.Raw(YamlText.Inline(column.Role), column.Header is { } header ? YamlText.Inline(header) : column.Place.ToString(CultureInfo.InvariantCulture)); }
            });
        }
        yaml.Text("acceleration", reading.Acceleration?.ToString());
        yaml.Text("gyro", reading.Gyro?.ToString());
        yaml.Raw("time", Time(reading.Time));
    }

    private static void Labels(YamlLines yaml, ImportLabels labels)
    {
        yaml.Text("path", labels.Path);
        yaml.Raw("columns", List(labels.Columns));
        yaml.Raw("separator", labels.Separator);
        yaml.Raw("header", labels.Header ? "true" : null);
        Texts(yaml, "where", labels.Where);
        yaml.Raw("first_index", labels.FirstIndex.ToString(CultureInfo.InvariantCulture));
        yaml.Raw("last", labels.LastInclusive ? "inclusive" : "exclusive");
        yaml.Raw("time", Time(labels.Time));
        Texts(yaml, "names", labels.Names);
    }

    private static string? Flag(bool? flag) => flag is { } is_ ? is_ ? "true" : "false" : null;

    private static string? Time(ImportTime? time) => time is not { } t ? null : t.Unit != "ticks" ? t.Unit
        : FormattableString.Invariant($"{{tick: {t.UnitNs} ns, bits: {(t.Bits == 0 ? "none" : t.Bits.ToString(CultureInfo.InvariantCulture))}}}");

    private static string List(IEnumerable<string> items) => $"[{string.Join(", ", items.Select(YamlText.Inline))}]";

    private static void Texts(YamlLines yaml, string key, IReadOnlyDictionary<string, string> texts)
    {
        if (texts.Count == 0) { return; }
        yaml.Map(key, y =>
        {
            foreach (var (name, value) in texts) { y.Text(YamlText.Inline(name), value); }
        });
    }

    /// <summary>The map with a value put under nested keys.</summary>
    private static MapNode Put(MapNode map, ReadOnlySpan<string> keys, Node value)
    {
        string key = keys[0];
        Node put = keys.Length == 1 ? value : Put(map[key] as MapNode ?? new MapNode(value.Path, 0, 0, []), keys[1..], value);
        bool there = map.Entries.Any(e => e.Key.Text == key);
        return map with
        {
            Entries = there
                ? [.. map.Entries.Select(e => e.Key.Text == key ? e with { Value = put } : e)]
                : [.. map.Entries, new(new ScalarNode(value.Path, 0, 0, key, true), put)],
        };
    }
}

/// <summary>One option of the command line, as a value of a map.</summary>
public sealed record MapSetting
{
    private readonly Node? _node;

    /// <param name="option">As typed: --rate.</param>
    /// <param name="keys">Where it belongs: rate, or labels and path.</param>
    /// <param name="form">How the values are written.</param>
    /// <param name="values">As typed.</param>
    public MapSetting(string option, string[] keys, MapSettingForm form, IReadOnlyList<string> values) => (Option, Keys, Form, Values) = (option, keys, form, values);

    internal MapSetting(string option, string[] keys, Node node) => (Option, Keys, Values, _node) = (option, keys, [], node);

    public string Option { get; }
    public string[] Keys { get; }
    public MapSettingForm Form { get; }
    public IReadOnlyList<string> Values { get; }

    internal Node Node(string where)
    {
        if (_node is not null) { return _node; }
        string path = Option + where;
        ScalarNode Scalar(string text, bool plain = true) => new(path, 0, 0, text, plain);
        string[] parts = [.. Values.SelectMany(v => v.Split(',')).Select(p => p.Trim())];
        bool pairs = Form == MapSettingForm.Pairs || (Form == MapSettingForm.ListOrPairs && parts.Any(p => p.Contains('=', StringComparison.Ordinal)));
        return Form switch
        {
            MapSettingForm.Value => Scalar(Values[^1]),
            MapSettingForm.Text => Scalar(Values[^1], plain: false),
            MapSettingForm.Tree => Tree(Values[^1], path),
            _ when pairs => new MapNode(path, 0, 0, [.. parts.Select(p => Pair(p, Scalar)).DistinctBy(e => e.Key.Text)]),
            _ => new ListNode(path, 0, 0, [.. parts.Select(p => Scalar(p))]),
        };
    }

    private static Entry Pair(string part, Func<string, bool, ScalarNode> scalar)
    {
        int at = part.IndexOf('=', StringComparison.Ordinal);
        return at < 0 ? new(scalar(part, true), scalar("", true)) : new(scalar(part[..at].Trim(), true), scalar(part[(at + 1)..].Trim(), true));
    }

    /// <summary>A word, or a map as it is written in YAML.</summary>
    private static Node Tree(string text, string path)
    {
        var node = YamlTree.Read(text, new DocumentFaults(path));
        return node is MapNode map
            ? new MapNode(path, 0, 0, [.. map.Entries.Select(e => new Entry(e.Key with { Path = path, Line = 0, Column = 0 }, e.Value with { Path = $"{path} {e.Key.Text}", Line = 0, Column = 0 }))])
            : new ScalarNode(path, 0, 0, text, true);
    }
}

/// <summary>Value: a number, word or quantity. Text: any text. List: a,b. Pairs: a=b,c=d. Tree: a word or a YAML map.</summary>
public enum MapSettingForm { Value, Text, List, Pairs, ListOrPairs, Tree }
