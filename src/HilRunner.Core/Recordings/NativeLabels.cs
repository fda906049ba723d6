using System.Text;
using HilRunner.Core.Files;
using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings;

/// <summary>NAME.labels.csv: start_s,end_s,class.</summary>
internal static class NativeLabels
{
    private const string Header = "start_s,end_s,class";

    /// <param name="originNs">The first sample's entry in t_s: labels stand on the same clock. 0 where the recording has no t_s.</param>
    public static IReadOnlyList<LabelInterval> Read(string path, long originNs, FaultList faults) =>
        File.Exists(path) ? Read(path, new StreamReader(path, Encoding.UTF8), originNs, faults) : [];

    /// <param name="path">For messages.</param>
    /// <param name="text">Is disposed.</param>
    /// <param name="originNs">As above.</param>
    public static IReadOnlyList<LabelInterval> Read(string path, TextReader text, long originNs, FaultList faults)
    {
        using var row = RowReader.Open(path, text, "comma");
        if (!row.MoveNext() || row.Count != 3 || !Enumerable.Range(0, 3).All(i => CsvText.Unquote(row[i]) == Header.Split(',')[i]))
        {
            faults.Add(1, 1, "no such header", Header);
            return [];
        }
        var labels = new LabelTable(faults);
        while (row.MoveNext())
        {
            if (row.IsBlank) { continue; }
            if (row.Count != 3)
            {
                faults.Add(row.Line, 0, $"{row.Count} columns", $"3: {Header}");
                continue;
            }
            bool start = Time(row, 0, faults, out long startNs), end = Time(row, 1, faults, out long endNs);
            string name = CsvText.Unquote(row[2]);
            if (name.Length == 0) { faults.Add(row.Line, row.Column(2), "no class", "the class of this stretch"); }
            if (start && end && name.Length > 0)
            {
                labels.Add(new(new(startNs - originNs), new(endNs - originNs), name), row.Line);
            }
        }
        return labels.Sorted();
    }

    /// <param name="originNs">The first sample's entry in t_s; 0 where the recording has none.</param>
    public static void Write(TextWriter writer, IReadOnlyList<LabelInterval> labels, long originNs = 0)
    {
        writer.WriteLine(Header);
        foreach (var label in labels)
        {
            string name = CsvText.Quote(label.Class);
            writer.WriteLine(FormattableString.Invariant($"{(label.Start + originNs).Seconds:0.#########},{(label.End + originNs).Seconds:0.#########},{name}"));
        }
    }

    private static bool Time(RowReader row, int cell, FaultList faults, out long ns)
    {
        bool good = CsvText.TrySeconds(row[cell], out decimal seconds);
        if (!good)
        {
            faults.Add(row.Line, row.Column(cell), $"{FoundText.Show(row[cell])} as time",
                "seconds such as 12.34", CsvText.SecondsRemedy(row[cell]));
        }
        ns = good ? StimulusTime.FromSeconds(seconds).Ns : 0;
        return good;
    }
}
