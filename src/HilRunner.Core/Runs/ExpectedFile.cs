using HilRunner.Core.Files;

namespace HilRunner.Core.Runs;

/// <summary>expected.csv, the reference timeline: <c>start_s,end_s,class,trial</c>, <c>recorded_in,recorded_from_s,recorded_to_s</c> where it was recorded, and
/// <c>uncertainty_s</c> where an onset is not exact; all but the first three may be absent on reading.</summary>
public static class ExpectedFile
{
    private static readonly string[] Required = ["start_s", "end_s", "class"];

    /// <summary>The intervals in the order of the file.</summary>
    /// <exception cref="BadInputException">
    /// A field cannot be read, an interval starts below 0 or does not end after its start, or two overlap: every such fault
    /// with its line, up to twenty.
    /// </exception>
    public static IReadOnlyList<ReferenceInterval> Read(string path)
    {
        var faults = new FaultList(path);
        var rows = CsvFile.Read(path, Required, cutOff: false, faults, (CsvRow row, out ReferenceInterval item) =>
        {
            long? start = row.RequiredNs("start_s");
            long? end = row.RequiredNs("end_s");
            string? name = row.RequiredText("class");
            long? trial = row.Whole("trial");
            long? uncertainty = row.Ns("uncertainty_s");
            if (uncertainty is < 0) { row.Bad<string>("uncertainty_s", CsvFile.Seconds(uncertainty), "0 or more"); }
            if (trial is < 0 or > int.MaxValue) { row.Bad<string>("trial", trial.Value.ToString(), "a number of a trial, 0 or more"); }
            RecordedSegment? segment = Segment(row);
            if (start is < 0) { row.Bad<string>("start_s", CsvFile.Seconds(start), "0 or more"); }
            if (end <= start) { row.Bad<string>("end_s", CsvFile.Seconds(end), $"more than start_s, which is {CsvFile.Seconds(start)}"); }
            item = new(new(start ?? 0), new(end ?? 0), name ?? "", (int?)trial) { UncertaintyNs = uncertainty ?? 0, Segment = segment };
            return start >= 0 && end > start && name is not null && uncertainty is not < 0;
        });
        AddOverlaps(rows, faults);
        faults.ThrowIfAny();
        return [.. rows.Select(r => r.Item)];
    }

    /// <summary>Whole or not at all.</summary>
    public static void Write(string path, IEnumerable<ReferenceInterval> intervals) =>
        AtomicFile.WriteText(path, writer => Write(writer, intervals));

    public static void Write(TextWriter writer, IEnumerable<ReferenceInterval> intervals)
    {
        ReferenceInterval[] all = [.. intervals];
        bool uncertain = all.Any(i => i.UncertaintyNs > 0);
        bool recorded = all.Any(i => i.Segment is not null);
        writer.Write($"start_s,end_s,class,trial{(recorded ? ",recorded_in,recorded_from_s,recorded_to_s" : "")}{(uncertain ? ",uncertainty_s" : "")}\n");
        foreach (var i in all)
        {
            string width = uncertain ? "," + CsvFile.Seconds(i.UncertaintyNs) : "";
            writer.Write($"{CsvFile.Seconds(i.Start.Ns)},{CsvFile.Seconds(i.End.Ns)},{CsvFile.Text(i.Class)},{CsvFile.Whole(i.Trial)}{(recorded ? Where(i.Segment) : "")}{width}\n");
        }
    }

    private static string Where(RecordedSegment? segment) => segment is { } s
        ? $",{CsvFile.Whole(s.Recording)},{CsvFile.Seconds(s.From.Ns)},{CsvFile.Seconds(s.To.Ns)}"
        : ",,,";

    private static RecordedSegment? Segment(CsvRow row)
    {
        long? recording = row.Whole("recorded_in"), from = row.Ns("recorded_from_s"), to = row.Ns("recorded_to_s");
        if (recording is < 1 or > int.MaxValue) { row.Bad<string>("recorded_in", recording.Value.ToString(), "the number of a recording, from 1"); }
        return recording is { } number and >= 1 and <= int.MaxValue && from is { } start && to is { } end ? new((int)number, new(start), new(end)) : null;
    }

    private static void AddOverlaps(List<(int Line, ReferenceInterval Item)> rows, FaultList faults)
    {
        (int Line, ReferenceInterval Item)? longest = null;
        foreach (var row in rows.OrderBy(r => r.Item.Start.Ns).ThenBy(r => r.Line))
        {
            if (longest is { } other && row.Item.Start < other.Item.End)
            {
                faults.Add(
                    row.Line, 0, $"{Words(row.Item)} overlaps {Words(other.Item)} on line {other.Line}",
                    "intervals that do not overlap", "end one before the other starts");
            }
            if (longest is null || row.Item.End > longest.Value.Item.End) { longest = row; }
        }
    }

    private static string Words(ReferenceInterval interval) => $"{interval.Class} from {interval.Start} to {interval.End}";
}
