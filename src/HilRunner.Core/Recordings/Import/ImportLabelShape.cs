using HilRunner.Core.Documents;

namespace HilRunner.Core.Recordings.Import;

/// <summary>Labels of an import that stand in a file of their own.</summary>
internal static class ImportLabelShape
{
    public static Shape<ImportLabels> Shape { get; } = MapShape.Of<ImportLabels>("Labels of an import", "a map with path and columns", keys =>
    {
        var path = keys.Required("path", OpenDataPath.Shape("the path of a label file"), "The label file, relative to the file that is imported.");
        var columns = keys.Default("columns", new ListShape<string>("a list of columns, such as [class, first, last]", Shapes.Text("a column", "class"), 1, 1000), "[start, end, class]",
            "One entry per column: class, with first and last (sample numbers) or start and end (times); first or start alone: until the next. _ to skip; other names for where.");
        var separator = keys.Default("separator", new WordShape<string>([.. RowReader.Separators.Select(s => (s, s))]), "comma", "Between columns: comma, semicolon, tab or space (any run of blanks).");
        var header = keys.Default("header", Shapes.Flag, "false", "true: the first line is skipped.");
        var where = keys.Default("where", Texts("a map from column to value", "COLUMN", Shapes.Text("a value")), "{}", "Only rows with these values belong to this file; numbers are compared as numbers.");
        var first = keys.Default("first_index", Shapes.Integer(0, 1), "1", "Number of the first sample, 0 or 1.");
        var last = keys.Default("last", new WordShape<bool>(("inclusive", true), ("exclusive", false)), "inclusive", "Whether the sample numbered last belongs to the label: inclusive or exclusive.");
        var time = keys.Default("time", ImportReadingShape.Time, "s", "Unit of start and end, on the clock of the column t (from 0 where there is none).");
        var names = keys.Default("names", Texts("a map from code to class", "CODE", ClassNames.Name), "{}",
            "Code in the column class → class. Codes that are not listed keep their text.");
        keys.Check((entries, reading) =>
        {
            if (!entries.TryGet(columns, out var listed)) { return; }
            Node at = entries.NodeOf(columns);
            if (!listed.Contains("class")) { reading.Faults.Add(at, $"no class in {at.Path}", "class, the column of the label"); }
            bool samples = listed.Contains("first"), times = listed.Contains("start");
            if (samples == times || (samples && listed.Contains("end")) || (times && listed.Contains("last")))
            {
                reading.Faults.Add(at, $"{string.Join(", ", listed)} in {at.Path}", "first and last, start and end, or first or start alone");
            }
            if (!entries.TryGet(where, out var wanted)) { return; }
            foreach (string missing in wanted.Keys.Except(listed))
            {
                string? near = EditDistance.Nearest(missing, listed);
                reading.Faults.Add(entries.NodeOf(where), $"the column {missing} in {entries.NodeOf(where).Path}", $"one of {string.Join(", ", listed)}", near is null ? "" : $"did you mean {near}?");
            }
        });
        return (entries, _) => new ImportLabels(entries.Get(path), entries.Get(columns))
        {
            Separator = entries.Get(separator),
            Header = entries.Get(header),
            Where = entries.Get(where),
            FirstIndex = entries.Get(first),
            LastInclusive = entries.Get(last),
            Time = entries.Get(time),
            Names = entries.Get(names),
        };
    });

    public static Shape<IReadOnlyDictionary<string, string>> Texts(string form, string placeholder, Shape<string> item) =>
        new NamedShape<string>(form, placeholder, "^\\S.{0,199}$", item)
            .Select(named => (IReadOnlyDictionary<string, string>)named.Own.ToDictionary(o => o.Key.Text, o => o.Value, StringComparer.Ordinal));
}
