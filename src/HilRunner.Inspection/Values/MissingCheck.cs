using HilRunner.Core.Files;
using HilRunner.Inspection.Reading;
using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Values;

/// <summary>Values that are no finite numbers, rows with the wrong number of cells, blank lines between samples, unreadable times.</summary>
internal sealed class MissingCheck : IRecordingCheck
{
    public string Name => "missing values";

    public CheckResult Of(InspectionContext context)
    {
        var recording = context.Recording;
        LineFaults faults = recording.LineFaults;
        var places = new PlaceList();
        Series<double>[] channels = [.. recording.Channels];
        long missing = 0;
        for (int i = 0; i < recording.SampleCount; i++)
        {
            int here = 0;
            foreach (var channel in channels) { here += double.IsNaN(channel[i]) ? 1 : 0; }
            missing += here;
            if (here > 0) { places.Add(context.Axis.At(i), context.Axis.AtOrEnd(i + 1)); }
        }
        var report = new CheckReport(Name);
        var values = report.Figure("missing_values", missing, "");
        var rows = report.Figure("ragged_rows", faults.RaggedRows, "");
        var blank = report.Figure("blank_lines", faults.BlankLines, "");
        var times = report.Figure("bad_times", faults.BadTimes, "");
        const string mend = "mend the lines, or cut the recording there";
        if (faults.RaggedRows > 0) { report.Find("ragged_row", Fitness.Unfit, $"{Say.Count(faults.RaggedRows, "row")} with the wrong number of cells, the first on line {faults.FirstRaggedRow}", rows, mend, places); }
        if (missing > faults.RaggedRows * recording.Channels.Count)
        {
            string first = faults.BadValues > 0 ? $", the first on line {faults.FirstBadLine}: {faults.FirstBadValue}" : "";
            report.Find("missing_value", Fitness.Unfit, $"{Say.Count(missing, "value")} missing{first}", values, "cut the recording there; a value that is put in is invented", places);
        }
        if (faults.BlankLines > 0) { report.Find("blank_line", Fitness.Unfit, $"{Say.Count(faults.BlankLines, "blank line")} between samples, the first on line {faults.FirstBlankLine}", blank, "take the lines out; if each stands for a lost sample, cut the recording there"); }
        if (faults.BadTimes > 0) { report.Find("bad_time", Fitness.Unfit, $"{Say.Count(faults.BadTimes, "row")} without a readable time, the first on line {faults.FirstBadTime}", times, mend); }
        return report.Done(report.Findings.Count == 0 ? "none" : string.Join("; ", report.Findings.Select(f => f.What)));
    }
}
