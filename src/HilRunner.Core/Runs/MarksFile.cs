using HilRunner.Core.Files;

namespace HilRunner.Core.Runs;

/// <summary>marks.csv: <c>step,kind,t_s,host_unix_ns</c>, in order of time. Appended to while the run goes on.</summary>
public static class MarksFile
{
    private const string Header = "step,kind,t_s,host_unix_ns\n";
    private static readonly string[] Required = ["step", "kind", "t_s", "host_unix_ns"];
    private static readonly string[] Kinds = ["told", "marked", "motion"];

    /// <summary>A last line that a killed writer left unfinished is passed over.</summary>
    /// <exception cref="BadInputException">A row cannot be read.</exception>
    public static IReadOnlyList<HandMark> Read(string path)
    {
        var faults = new FaultList(path);
        var rows = CsvFile.Read(path, Required, cutOff: true, faults, (CsvRow row, out HandMark item) =>
        {
            long? step = row.RequiredWhole("step"), at = row.RequiredNs("t_s"), host = row.RequiredWhole("host_unix_ns");
            string? kind = row.RequiredText("kind");
            int index = Array.IndexOf(Kinds, kind);
            if (kind is not null && index < 0) { row.Bad<string>("kind", kind, "one of " + string.Join(", ", Kinds)); }
            if (step is < 0 or > int.MaxValue) { row.Bad<string>("step", $"{step}", "the number of a prompt, 0 or more"); }
            item = new((int)Math.Clamp(step ?? 0, 0, int.MaxValue), (HandMarkKind)Math.Max(0, index), new(at ?? 0), host ?? 0);
            return step is not null && at is not null && host is not null && index >= 0;
        });
        faults.ThrowIfAny();
        return [.. rows.Select(r => r.Item)];
    }

    public static void Write(string path, IEnumerable<HandMark> marks) => AtomicFile.WriteText(path, w =>
    {
        w.Write(Header);
        foreach (var mark in marks) { w.Write(Row(mark)); }
    });

    /// <summary>One row, handed to the operating system at once.</summary>
    public static void Append(string path, HandMark mark) =>
        PlainFile.AppendText(path, PlainFile.IsThere(path) ? Row(mark) : Header + Row(mark));

    private static string Row(HandMark mark) =>
        FormattableString.Invariant($"{mark.Step},{Kinds[(int)mark.Kind]},{CsvFile.Seconds(mark.At.Ns)},{mark.HostUnixNs}\n");
}
