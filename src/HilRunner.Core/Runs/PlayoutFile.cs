using HilRunner.Core.Files;

namespace HilRunner.Core.Runs;

/// <summary>playout.csv, when each sample was due and was sent: <c>n,due_s,actual_s</c>; due_s is empty where nothing was due.</summary>
public static class PlayoutFile
{
    private static readonly string[] Required = ["n", "actual_s"];

    /// <param name="cutOff">Leave out a last line without its line end, as a killed writer leaves it.</param>
    /// <exception cref="BadInputException">Fields that cannot be read, or sample numbers that do not rise, up to twenty.</exception>
    public static IReadOnlyList<PlayoutRow> Read(string path, bool cutOff = false)
    {
        var faults = new FaultList(path);
        long? before = null;
        var rows = SeriesBuilder<PlayoutRow>.AllInMemory();
        CsvFile.ReadEach(path, Required, cutOff, faults, (CsvRow row, out PlayoutRow item) =>
        {
            long? n = row.RequiredWhole("n");
            long? due = row.Ns("due_s");
            long? actual = row.RequiredNs("actual_s");
            if (n <= before) { row.Bad<string>("n", CsvFile.Whole(n), $"more than {before}, which was sent before"); }
            before = n ?? before;
            item = new(n ?? 0, due, actual ?? 0);
            return n is not null && actual is not null;
        }, (_, row) => rows.Add(row));
        faults.ThrowIfAny();
        return rows.ToArray();
    }

    /// <summary>Whole or not at all.</summary>
    public static void Write(string path, IEnumerable<PlayoutRow> rows) =>
        AtomicFile.WriteText(path, writer => Write(writer, rows));

    public static void Write(TextWriter writer, IEnumerable<PlayoutRow> rows)
    {
        writer.Write("n,due_s,actual_s\n");
        foreach (var r in rows) { writer.Write($"{CsvFile.Whole(r.N)},{CsvFile.Seconds(r.DueNs)},{CsvFile.Seconds(r.ActualNs)}\n"); }
    }
}
