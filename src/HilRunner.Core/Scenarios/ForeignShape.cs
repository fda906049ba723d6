using HilRunner.Core.Documents;
using HilRunner.Core.Recordings;
using HilRunner.Core.Rigs;

namespace HilRunner.Core.Scenarios;

/// <summary>How to read a recording that is not in the native form.</summary>
internal static class ForeignShape
{
    private static WordShape<string> Words(params string[] words) => new([.. words.Select(w => (w, w))]);
    private static WordShape<string> Separator => Words("space", "tab", "comma", "semicolon");

    public static Shape<ForeignFormat> Shape { get; } = MapShape.Of<ForeignFormat>("Foreign files", "a map with columns", keys =>
    {
        var separator = keys.Default("separator", Separator, "comma", "Between columns: space (any run of blanks), tab, comma or semicolon.");
        var header = keys.Default("header", Shapes.Flag, "false", "true: the first line is skipped.");
        var columns = keys.Required("columns", new ListShape<string>("a list of columns, such as [ax, ay, az]", Words([.. MessageShapes.Channels, "t", "_"]), 1, 1_000),
            "One entry per column: ax ay az gx gy gz, t (time in s), _ to skip.");
        var acceleration = keys.Default("acceleration", Words("g", "mg", "m/s2"), "g", "Unit of ax ay az.");
        var gyro = keys.Default("gyro", Words("dps", "rad/s"), "dps", "Unit of gx gy gz.");
        var rate = keys.Optional("rate", Shapes.Rate, "Sample rate; needed where there is no column t.");
        var source = keys.Optional("source", Shapes.Text("who or which machine", "person 1"), "Who or which machine was recorded, as a side file says it: trials of one source are not independent.");
        var labels = keys.Optional("labels", Labels(), "Where the labels stand. Absent: no labels.");
        keys.Check((entries, reading) =>
        {
            if (!entries.TryGet(columns, out var names)) { return; }
            foreach (string name in names.Where(n => n != "_").GroupBy(n => n).Where(g => g.Count() > 1).Select(g => g.Key))
            {
                reading.Faults.Add(entries.NodeOf(columns), $"{name} twice in {entries.NodeOf(columns).Path}", "each channel once");
            }
            if (!names.Any(MessageShapes.Channels.Contains)) { reading.Faults.Add(entries.NodeOf(columns), $"no channel in {entries.NodeOf(columns).Path}", "at least one of ax ay az gx gy gz"); }
            if (!names.Contains("t") && !entries.Has(rate)) { reading.Faults.Add(entries.Node, $"neither a column t nor a rate in {entries.Node.Path}", "rate: such as 50 Hz, or t in columns"); }
        });
        return (entries, _) => new ForeignFormat
        {
            Separator = entries.Get(separator),
            Header = entries.Get(header),
            Columns = entries.Get(columns),
            Acceleration = entries.Get(acceleration),
            Gyro = entries.Get(gyro),
            Rate = entries.MaybeValue(rate),
            Source = entries.Maybe(source),
            Labels = entries.Maybe(labels),
        };
    });

    private static Shape<IReadOnlyDictionary<string, string>> Texts(string form, string placeholder, Shape<string> item) =>
        new NamedShape<string>(form, placeholder, "^\\S.{0,199}$", item)
            .Select(named => (IReadOnlyDictionary<string, string>)named.Own.ToDictionary(o => o.Key.Text, o => o.Value, StringComparer.Ordinal));

    private static MapShape<ForeignLabels> Labels() => MapShape.Of<ForeignLabels>("Labels of foreign files", "a map with path and columns", keys =>
    {
        var path = keys.Required("path", OpenDataPath.Shape("the path of a label file"), "The label file, relative to this file.");
        var separator = keys.Default("separator", Separator, "comma", "Between columns: space (any run of blanks), tab, comma or semicolon.");
        var columns = keys.Required("columns", new ListShape<string>("a list of columns, such as [class, first, last]", Shapes.Text("a column", "class"), 1, 1_000),
            "One entry per column: class; first and last (sample numbers, last inclusive) or start_s and end_s; _ to skip; other names for where.");
        var where = keys.Default("where", Texts("a map from column to value", "COLUMN", Shapes.Text("a value")), "{}", "Only rows with these values belong to this recording.");
        var first = keys.Default("first_index", Shapes.Integer(0, 1), "1", "Number of the first sample, 0 or 1.");
        var names = keys.Default("names", Texts("a map from code to label", "CODE", ClassNames.Name), "{}",
            "Code in the class column → label. Codes that are not listed keep their text.");
        keys.Check((entries, reading) =>
        {
            if (!entries.TryGet(columns, out var listed)) { return; }
            Node at = entries.NodeOf(columns);
            if (!listed.Contains("class")) { reading.Faults.Add(at, $"no class in {at.Path}", "class, the column of the label"); }
            bool samples = listed.Contains("first") && listed.Contains("last"), times = listed.Contains("start_s") && listed.Contains("end_s");
            if (samples == times) { reading.Faults.Add(at, $"{(samples ? "both sample numbers and times" : "no extent")} in {at.Path}", "first and last, or start_s and end_s"); }
            if (!entries.TryGet(where, out var wanted)) { return; }
            foreach (string missing in wanted.Keys.Except(listed))
            {
                string? near = EditDistance.Nearest(missing, listed);
                reading.Faults.Add(entries.NodeOf(where), $"the column {missing} in {entries.NodeOf(where).Path}", $"one of {string.Join(", ", listed)}", near is null ? "" : $"did you mean {near}?");
            }
        });
        return (entries, _) => new ForeignLabels(entries.Get(path), entries.Get(separator), entries.Get(columns))
        {
            Where = entries.Get(where),
            FirstIndex = entries.Get(first),
            Names = entries.Get(names),
        };
    });
}
