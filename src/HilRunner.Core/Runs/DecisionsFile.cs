using System.Globalization;
using HilRunner.Core.Files;

namespace HilRunner.Core.Runs;

/// <summary>
/// decisions.csv, what the device said: <c>t_s,class,output,timing,sample,device_s,arrival_s,arrival_uncertainty_s,uncertainty_s,confidence</c>. A log
/// from elsewhere needs only t_s and class.
/// </summary>
public static class DecisionsFile
{
    private static readonly string[] Required = ["t_s", "class"];

    private static readonly (DecisionTiming Timing, string Word)[] Timings =
    [
        (DecisionTiming.Sample, "sample"), (DecisionTiming.DeviceClock, "device_clock"), (DecisionTiming.Arrival, "arrival"),
    ];

    /// <param name="cutOff">Leave out a last line without its line end, as a killed writer leaves it.</param>
    /// <exception cref="BadInputException">Fields that cannot be read, each with line and column, up to twenty.</exception>
    public static IReadOnlyList<Decision> Read(string path, bool cutOff = false)
    {
        var faults = new FaultList(path);
        var rows = CsvFile.Read(path, Required, cutOff, faults, (CsvRow row, out Decision item) =>
        {
            long? time = row.RequiredNs("t_s");
            string? name = row.RequiredText("class");
            item = new Decision(new(time ?? 0), name ?? "", row.Text("output") ?? "")
            {
                Timing = ReadTiming(row),
                Sample = row.Whole("sample"),
                DeviceTime = row.Ns("device_s") is { } device ? new(device) : null,
                ArrivalNs = row.Ns("arrival_s"),
                ArrivalUncertaintyNs = row.Ns("arrival_uncertainty_s"),
                UncertaintyNs = row.Ns("uncertainty_s"),
                Confidence = row.Number("confidence"),
            };
            if (item.ArrivalUncertaintyNs < 0) { row.Bad<string>("arrival_uncertainty_s", CsvFile.Seconds(item.ArrivalUncertaintyNs), "0 or more"); }
            if (item.UncertaintyNs < 0) { row.Bad<string>("uncertainty_s", CsvFile.Seconds(item.UncertaintyNs), "0 or more"); }
            return time is not null && name is not null;
        });
        faults.ThrowIfAny();
        return [.. rows.Select(r => r.Item)];
    }

    /// <summary>Whole or not at all.</summary>
    public static void Write(string path, IEnumerable<Decision> decisions) =>
        AtomicFile.WriteText(path, writer => Write(writer, decisions));

    public static void Write(TextWriter writer, IEnumerable<Decision> decisions)
    {
        writer.Write("t_s,class,output,timing,sample,device_s,arrival_s,arrival_uncertainty_s,uncertainty_s,confidence\n");
        foreach (var d in decisions)
        {
            string output = d.Output.Length == 0 ? "" : CsvFile.Text(d.Output);
            string timing = Timings.First(t => t.Timing == d.Timing).Word;
            string confidence = d.Confidence?.ToString("R", CultureInfo.InvariantCulture) ?? "";
            writer.Write(
                $"{CsvFile.Seconds(d.Time.Ns)},{CsvFile.Text(d.Class)},{output},{timing},{CsvFile.Whole(d.Sample)},"
                + $"{CsvFile.Seconds(d.DeviceTime?.Ns)},{CsvFile.Seconds(d.ArrivalNs)},{CsvFile.Seconds(d.ArrivalUncertaintyNs)},{CsvFile.Seconds(d.UncertaintyNs)},{confidence}\n");
        }
    }

    private static DecisionTiming ReadTiming(CsvRow row)
    {
        if (row.Text("timing") is not { } word) { return DecisionTiming.Sample; }
        foreach (var (timing, known) in Timings)
        {
            if (word == known) { return timing; }
        }
        row.Bad<string>("timing", word, string.Join(", ", Timings.Select(t => t.Word)));
        return DecisionTiming.Sample;
    }
}
