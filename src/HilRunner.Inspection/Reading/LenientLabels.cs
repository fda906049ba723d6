using System.Text;
using HilRunner.Core.Files;
using HilRunner.Core.Recordings;
using HilRunner.Core.Time;

namespace HilRunner.Inspection.Reading;

/// <summary>NAME.labels.csv with labels that overlap, end before they start or lie outside the recording.</summary>
internal static class LenientLabels
{
    private const string Header = "start_s,end_s,class";

    /// <param name="faults">Lines that hold no label at all.</param>
    public static IReadOnlyList<InspectedLabel> Read(string path, long originNs, FaultList faults) =>
        File.Exists(path) ? Read(path, new StreamReader(path, Encoding.UTF8), originNs, faults) : [];

    /// <param name="path">For messages.</param>
    /// <param name="text">Is disposed.</param>
    /// <param name="originNs">The first sample's entry in t_s.</param>
    /// <param name="faults">As above.</param>
    public static IReadOnlyList<InspectedLabel> Read(string path, TextReader text, long originNs, FaultList faults)
    {
        using var row = RowReader.Open(path, text, "comma");
        if (!row.MoveNext() || row.Count != 3 || !Enumerable.Range(0, 3).All(i => CsvText.Unquote(row[i]) == Header.Split(',')[i]))
        {
            faults.Add(1, 1, "no such header", Header);
            return [];
        }
        var labels = new List<InspectedLabel>();
        while (row.MoveNext())
        {
            if (row.IsBlank) { continue; }
            if (labels.Count == LabelTable.MostLabels)
            {
                faults.Add(row.Line, 0, "one label more", $"at most {LabelTable.MostLabels} labels");
                break;
            }
            if (row.Count != 3 || !CsvText.TrySeconds(row[0], out decimal start) || !CsvText.TrySeconds(row[1], out decimal end))
            {
                faults.Add(row.Line, 0, "no label", Header);
                continue;
            }
            string name = CsvText.Unquote(row[2]);
            if (name.Length == 0)
            {
                faults.Add(row.Line, row.Column(2), "no class", "the class of this stretch");
                continue;
            }
            labels.Add(new(StimulusTime.FromSeconds(start).Ns - originNs, StimulusTime.FromSeconds(end).Ns - originNs, name, row.Line));
        }
        return labels;
    }
}
