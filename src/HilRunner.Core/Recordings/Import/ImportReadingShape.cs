using System.Globalization;
using HilRunner.Core.Documents;

namespace HilRunner.Core.Recordings.Import;

/// <summary>The keys that say what one file looks like.</summary>
internal static class ImportReadingShape
{
    private const string RoleForm = "^\\S.{0,199}$";

    /// <summary>Of the keys that <see cref="Declare"/> declares, the names.</summary>
    public static IReadOnlySet<string> Keys => NamesOf();

    /// <summary>Declares the keys among those of a map; what is returned reads them.</summary>
    public static Func<Entries, ImportReading> Declare(MapKeys keys)
    {
        var format = keys.Optional("format", new WordShape<ImportFormat>(("text", ImportFormat.Text), ("jsonl", ImportFormat.JsonLines), ("parquet", ImportFormat.Parquet)),
            "text (any delimited table), jsonl (one JSON object a line) or parquet. Absent: by the file's name and its first bytes.");
        var encoding = keys.Optional("encoding", new WordShape<TextCoding>(("utf-8", TextCoding.Utf8), ("utf-16", TextCoding.Utf16), ("utf-16be", TextCoding.Utf16BigEndian), ("latin1", TextCoding.Latin1)),
            "Absent: by the byte order mark and the first bytes.");
        var separator = keys.Optional("separator", new WordShape<string>([.. RowReader.Separators.Select(s => (s, s))]),
            "Between columns: comma, semicolon, tab or space (any run of blanks). Absent: found.");
        var header = keys.Optional("header", Shapes.Flag, "true: the first line names the columns. Absent: found.");
        var skip = keys.Optional("skip", Shapes.Integer(0, 1_000_000), "Lines left out at the start. Absent: found.");
        var comment = keys.Optional("comment", new TextShape("what comment lines start with", ["#"], 0, 20), "Lines that start so are left out; \"\": none. Absent: # or % or // where such lines are found.");
        var comma = keys.Optional("decimal", new WordShape<bool>(("point", false), ("comma", true)), "Decimal mark: point or comma. Absent: found.");
        var end = keys.Optional("line_end", new TextShape("what every line ends in", [";"], 0, 20), "What every line must end in beyond its last cell; \"\": nothing. Absent: ; or , where all lines do.");
        var quotes = keys.Optional("quotes", Shapes.Flag, "true: cells may be quoted as in RFC 4180. Absent: true where quotation marks are found.");
        var columns = keys.Optional("columns", Columns, "List with an entry for each column, or map from quantity to header name or column number. Quantities: ax ay az gx gy gz, t, label, _ to skip; other names for where and split_by.");
        var acceleration = keys.Optional("acceleration", Unit("g, mg or m/s2, or what one count is, such as 0.5 mg", "g", "mg", "m/s2"),
            "Unit of ax ay az, or what one count is. Absent: from the header, else guessed from gravity, and said.");
        var gyro = keys.Optional("gyro", Unit("dps, mdps or rad/s, or what one count is, such as 70 mdps", "dps", "mdps", "rad/s"),
            "Unit of gx gy gz, or what one count is. Absent: from the header.");
        var time = keys.Optional("time", Time, "Unit of t: s, ms, us, ns (also since 1970), iso (ISO 8601), or {tick: 1 ms, bits: 16} for a device's counter. Absent: from the header, else guessed, and said.");
        return entries => new ImportReading
        {
            Format = entries.MaybeValue(format),
            Encoding = entries.MaybeValue(encoding),
            Separator = entries.Maybe(separator),
            Header = entries.MaybeValue(header),
            Skip = entries.MaybeValue(skip),
            Comment = entries.Maybe(comment),
            DecimalComma = entries.MaybeValue(comma),
            LineEnd = entries.Maybe(end),
            Quotes = entries.MaybeValue(quotes),
            Columns = entries.Maybe(columns),
            AllColumns = entries.NodeOf(columns) is ListNode,
            Acceleration = entries.Maybe(acceleration),
            Gyro = entries.Maybe(gyro),
            Time = entries.Maybe(time),
        };
    }

    private static HashSet<string> NamesOf()
    {
        var keys = new MapKeys();
        Declare(keys);
        return [.. keys.Keys.Select(k => k.Name)];
    }

    private static Shape<IReadOnlyList<ImportColumn>> Columns { get; } = new EitherShape<IReadOnlyList<ImportColumn>>(
        "a list such as [t, ax, ay, az], or a map such as {ax: acc_x}",
        list: new ListShape<string>("a list of columns, such as [t, ax, ay, az]", Shapes.Text("a column", "ax"), 1, 1000)
            .Select((roles, node, reading) => Checked([.. roles.Select((r, i) => new ImportColumn(r, null, i + 1))], node, reading)),
        map: new NamedShape<string>("a map from quantity to header name or column number", "QUANTITY", RoleForm, Shapes.Text("a header name or a column number", "acc_x"), 1, 1000)
            .Select((named, node, reading) => Checked([.. named.Own.Select(o => Picked(o.Key.Text, o.Value))], node, reading)));

    private static ImportColumn Picked(string role, string text) =>
        int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out int place) && place is >= 1 and <= 100_000 ? new(role, null, place) : new(role, text, 0);

    private static IReadOnlyList<ImportColumn> Checked(IReadOnlyList<ImportColumn> columns, Node node, Reading reading)
    {
        foreach (string twice in columns.Where(c => c.Role != "_").GroupBy(c => c.Role).Where(g => g.Count() > 1).Select(g => g.Key))
        {
            reading.Faults.Add(node, $"{twice} twice in {node.Path}", "each quantity once");
        }
        if (!columns.Any(c => ColumnUse.ChannelNames.Contains(c.Role)))
        {
            reading.Faults.Add(node, $"no channel in {node.Path}", "at least one of " + string.Join(", ", ColumnUse.ChannelNames));
        }
        return columns;
    }

    private static Shape<ImportUnit> Unit(string form, params string[] units) => new TextShape(form, [units[0], $"0.5 {units[1]}"], 1, 60).Select((text, node, reading) =>
    {
        foreach (string unit in units)
        {
            if (text == unit) { return new ImportUnit(unit); }
            if (!text.EndsWith(unit, StringComparison.Ordinal)) { continue; }
            string number = text[..^unit.Length].TrimEnd(' ');
            if (decimal.TryParse(number, NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint | NumberStyles.AllowExponent, CultureInfo.InvariantCulture, out decimal count)
                && count != 0 && Math.Abs(count) <= 1_000_000)
            {
                return new ImportUnit(unit, count);
            }
        }
        reading.Refuse(node, node.Shown, form);
        return new ImportUnit(units[0]);
    }, form);

    public static Shape<ImportTime> Time { get; } = new EitherShape<ImportTime>(
        "s, ms, us, ns, iso, or a map such as {tick: 1 ms, bits: 16}",
        scalar: new WordShape<ImportTime>([.. ImportTime.Named.Select(t => (t.Unit, t))]),
        map: MapShape.Of<ImportTime>(null, "a map with tick", keys =>
        {
            var tick = keys.Required("tick", new QuantityShape(UnitKind.Duration, "0 s", "1 h", aboveMin: true), "Length of one tick.");
            var bits = keys.Default("bits", new WordShape<int>(("none", 0), ("16", 16), ("24", 24), ("32", 32)), "none", "Width of the counter, which wraps: 16, 24, 32, or none.");
            return (entries, _) => new ImportTime("ticks", entries.Get(tick), entries.Get(bits));
        }));
}
