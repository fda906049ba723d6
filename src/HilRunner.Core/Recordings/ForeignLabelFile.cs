using System.Globalization;
using HilRunner.Core.Files;
using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings;

/// <summary>Labels from an interval file of some other form, which may hold the labels of many recordings.</summary>
internal static class ForeignLabelFile
{
    /// <param name="originNs">Time of the first sample on the file's clock, for start_s and end_s.</param>
    public static IReadOnlyList<LabelInterval> Read(string path, ForeignLabels format, SampleRate rate, long originNs, FaultList faults)
    {
        int name = Index(format, "class");
        bool samples = Index(format, "first") >= 0;
        int from = Index(format, samples ? "first" : "start_s"), to = Index(format, samples ? "last" : "end_s");
        var where = format.Where.Select(w => (Cell: Index(format, w.Key), w.Value)).ToList();
        if (name < 0 || from < 0 || to < 0 || where.Any(w => w.Cell < 0) || !RowReader.Separators.Contains(format.Separator))
        {
            faults.Add(0, 0, $"a label format with separator {FoundText.Show(format.Separator)} and columns {string.Join(", ", format.Columns)}",
                $"a separator of {string.Join(", ", RowReader.Separators)}; "
                    + "columns class with first and last, or with start_s and end_s, and every one that where: names");
            return [];
        }
        using var row = RowReader.Open(path, format.Separator);
        var labels = new LabelTable(faults);
        bool any = false;
        while (row.MoveNext())
        {
            if (row.IsBlank) { continue; }
            if (row.Count != format.Columns.Count)
            {
                faults.Add(row.Line, 0, $"{row.Count} columns", $"{format.Columns.Count}: {string.Join(", ", format.Columns)}");
                continue;
            }
            if (!where.All(w => CsvText.Unquote(row[w.Cell]) == w.Value)) { continue; }
            any = true;
            bool good = samples
                ? Samples(row, from, to, format.FirstIndex, rate, faults, out var start, out var end)
                : Times(row, from, to, originNs, faults, out start, out end);
            string code = CsvText.Unquote(row[name]);
            if (code.Length == 0) { faults.Add(row.Line, 0, "no class", "the class of this stretch"); }
            else if (good) { labels.Add(new(start, end, format.Names.GetValueOrDefault(code, code)), row.Line); }
        }
        if (!any && !faults.Any)
        {
            string filter = string.Join(" and ", format.Where.Select(w => $"{w.Key} is {w.Value}"));
            faults.Add(0, 0, filter.Length == 0 ? "no row" : $"no row where {filter}", "at least one label for this recording", "correct where:, or leave labels: out");
        }
        return labels.Sorted();
    }

    private static int Index(ForeignLabels format, string column) => format.Columns.ToList().IndexOf(column);

    /// <summary>Sample numbers; the last one belongs to the label: its time ends one step after it.</summary>
    private static bool Samples(
        RowReader row, int from, int to, int firstIndex, SampleRate rate, FaultList faults, out StimulusTime start, out StimulusTime end)
    {
        bool first = Number(row, from, firstIndex, faults, out int a), last = Number(row, to, firstIndex, faults, out int b);
        (start, end) = (rate.TimeOf(a - firstIndex), rate.TimeOf((long)b + 1 - firstIndex));
        return first && last;
    }

    private static bool Times(RowReader row, int from, int to, long originNs, FaultList faults, out StimulusTime start, out StimulusTime end)
    {
        bool first = Second(row, from, faults, out var a), last = Second(row, to, faults, out var b);
        (start, end) = (a + -originNs, b + -originNs);
        return first && last;
    }

    private static bool Number(RowReader row, int cell, int least, FaultList faults, out int number)
    {
        bool good = int.TryParse(CsvText.Unquote(row[cell]), NumberStyles.Integer, CultureInfo.InvariantCulture, out number) && number >= least;
        if (!good) { faults.Add(row.Line, row.Column(cell), $"{FoundText.Show(row[cell])} as sample number", $"a whole number from {least} on"); }
        return good;
    }

    private static bool Second(RowReader row, int cell, FaultList faults, out StimulusTime time)
    {
        bool good = CsvText.TrySeconds(row[cell], out decimal seconds);
        if (!good)
        {
            faults.Add(row.Line, row.Column(cell), $"{FoundText.Show(row[cell])} as time",
                "seconds such as 12.34", CsvText.SecondsRemedy(row[cell]));
        }
        time = good ? StimulusTime.FromSeconds(seconds) : StimulusTime.Zero;
        return good;
    }
}
