using HilRunner.Core.Files;

namespace HilRunner.Core.Recordings.Import;

/// <summary>A stretch that carries a class, on the clock of the time column in nanoseconds, or by rows of data, 0-based.</summary>
/// <param name="End">The first moment or row after it; <see cref="long.MaxValue"/>: until the end.</param>
internal readonly record struct FileLabel(long Start, long End, string Class, int Line);

/// <summary>Labels that stand in a file of their own: intervals, or events that each last until the next.</summary>
internal static class LabelFile
{
    /// <exception cref="BadInputException">Every fault of the file.</exception>
    public static IReadOnlyList<FileLabel> Read(string path, ImportLabels format)
    {
        var faults = new FaultList(path);
        var labels = InputFile.Using(path, "a file of labels", () => Rows(path, format, faults));
        if (labels.Count == 0 && !faults.Any)
        {
            string filter = string.Join(" and ", format.Where.Select(w => $"{w.Key} is {w.Value}"));
            faults.Add(0, 0, filter.Length == 0 ? "no row" : $"no row where {filter}", "at least one label for this file", "correct where:, or leave labels: out");
        }
        labels.Sort((a, b) => (a.Start, a.Line).CompareTo((b.Start, b.Line)));
        for (int i = 0; i + 1 < labels.Count; i++)
        {
            if (labels[i].End == long.MaxValue) { labels[i] = labels[i] with { End = labels[i + 1].Start }; }
            if (labels[i + 1].Start < labels[i].End)
            {
                faults.Add(Math.Max(labels[i].Line, labels[i + 1].Line), 0, $"{labels[i + 1].Class}, which starts before {labels[i].Class} (line {Math.Min(labels[i].Line, labels[i + 1].Line)}) ends", "labels that do not overlap");
            }
        }
        faults.ThrowIfAny();
        // Two events of one moment: the later line counts.
        labels.RemoveAll(l => l.End == l.Start);
        return labels;
    }

    /// <summary>True: rows of data; false: nanoseconds.</summary>
    public static bool BySamples(ImportLabels format) => format.Columns.Contains("first");

    private static List<FileLabel> Rows(string path, ImportLabels format, FaultList faults)
    {
        var columns = format.Columns.ToList();
        int name = columns.IndexOf("class");
        bool samples = BySamples(format);
        int from = columns.IndexOf(samples ? "first" : "start"), to = columns.IndexOf(samples ? "last" : "end");
        var where = format.Where.Select(w => (Cell: columns.IndexOf(w.Key), w.Value)).ToList();
        var stamps = new StampReader(format.Time, decimalComma: false);
        var labels = new List<FileLabel>();
        using var row = RowReader.Open(path, format.Separator);
        bool header = format.Header;
        while (row.MoveNext())
        {
            if (row.IsBlank || row[0].TrimStart().StartsWith('#')) { continue; }
            if (header)
            {
                header = false;
                continue;
            }
            if (row.Count != columns.Count)
            {
                faults.Add(row.Line, 0, $"{row.Count} columns", $"{columns.Count}: {string.Join(", ", columns)}");
                continue;
            }
            if (!where.All(w => LogRows.SameText(NumberText.Bare(row[w.Cell]), w.Value))) { continue; }
            string code = CsvText.Unquote(row[name]);
            if (code.Length == 0)
            {
                faults.Add(row.Line, row.Column(name), "no class", "the class of this stretch");
                continue;
            }
            long start, end = long.MaxValue;
            bool good = samples
                ? Sample(row, from, format.FirstIndex, 0, faults, out start) & (to < 0 || Sample(row, to, format.FirstIndex, format.LastInclusive ? 1 : 0, faults, out end))
                : Stamp(row, from, stamps, faults, out start) & (to < 0 || Stamp(row, to, stamps, faults, out end));
            if (!good) { continue; }
            if (end <= start) { faults.Add(row.Line, 0, $"a label from {Shown(row[from])} to {Shown(row[to])}", "an end after the start"); }
            else if (labels.Count == LabelTable.MostLabels) { throw new BadInputException([new Fault(path, row.Line, 0, "one label more", $"at most {LabelTable.MostLabels} labels")]); }
            else { labels.Add(new(start, end, format.Names.GetValueOrDefault(code, code), row.Line)); }
        }
        return labels;
    }

    private static string Shown(ReadOnlySpan<char> cell) => FoundText.Show(cell).Trim('\'');

    private static bool Sample(RowReader row, int cell, int first, int add, FaultList faults, out long number)
    {
        bool good = long.TryParse(NumberText.Bare(row[cell]), System.Globalization.NumberStyles.None, System.Globalization.CultureInfo.InvariantCulture, out number)
            && number >= first && number < 1L << 60;
        if (!good) { faults.Add(row.Line, row.Column(cell), $"{FoundText.Show(row[cell])} as sample number", $"a whole number from {first} on"); }
        number += add - first;
        return good;
    }

    private static bool Stamp(RowReader row, int cell, StampReader stamps, FaultList faults, out long ns)
    {
        bool good = stamps.TryRead(row[cell], out ns);
        if (!good) { faults.Add(row.Line, row.Column(cell), $"{FoundText.Show(row[cell])} as time", stamps.Expected); }
        return good;
    }

    /// <summary>As they stand beside a recording in the native form, on its clock.</summary>
    public static IReadOnlyList<FileLabel> OfNative(IReadOnlyList<LabelInterval> labels) =>
        [.. labels.Select(l => new FileLabel(l.Start.Ns, l.End.Ns, l.Class, 0))];
}
