using System.Globalization;
using HilRunner.Core.Files;
using HilRunner.Core.Time;
using nietras.SeparatedValues;

namespace HilRunner.Core.Runs;

/// <summary>Reads and writes the CSV files of a run (RFC 4180, header, comma, UTF-8, LF), with every fault at its line and column.</summary>
internal static class CsvFile
{
    /// <summary>False: the row gives no item, for faults that were reported.</summary>
    internal delegate bool RowReader<T>(CsvRow row, out T item);

    /// <param name="required">Columns without which the file says nothing. Others may be absent; unknown ones are passed over.</param>
    /// <param name="cutOff">Leave out a last line without its line end: what a killed writer leaves, whole or not.</param>
    /// <exception cref="BadInputException">The file cannot be used.</exception>
    public static List<(int Line, T Item)> Read<T>(string path, IReadOnlyList<string> required, bool cutOff, FaultList faults, RowReader<T> read)
    {
        var items = new List<(int, T)>();
        ReadEach(path, required, cutOff, faults, read, (line, item) => items.Add((line, item)));
        return items;
    }

    /// <summary>The same, for files of millions of rows: each item is handed over as it is read.</summary>
    /// <exception cref="BadInputException">The file cannot be used.</exception>
    public static void ReadEach<T>(
        string path, IReadOnlyList<string> required, bool cutOff, FaultList faults, RowReader<T> read, Action<int, T> take)
    {
        if (!PlainFile.IsThere(path))
        {
            faults.Add(0, 0, "there is no such file", $"a CSV file with the columns {string.Join(",", required)}");
            return;
        }
        bool drop = cutOff && EndsInMidLine(path);
        (int, T)? pending = null;
        var pendingFaults = new FaultList(path);
        Dictionary<string, int>? columns = null;
        // Counted here: of its first row the reader gives the line after it.
        int headerLine = 1;
        try
        {
            // A byte order mark is no part of the first name; StreamReader takes it off.
            using var text = new LimitedLines(new StreamReader(PlainFile.OpenRead(path)));
            using var reader = Sep.New(',').Reader(o => o with { HasHeader = false, DisableColCountCheck = true }).From(text);
            foreach (var row in reader)
            {
                if (row.Span.IsWhiteSpace())
                {
                    if (columns is null) { headerLine++; }
                    continue;
                }
                Commit();
                if (int.IsOddInteger(row.Span.Count('"')))
                {
                    pendingFaults.Add(row.LineNumberFrom, 0, "a quotation mark that is never closed", "fields as in RFC 4180");
                    continue;
                }
                if (columns is null)
                {
                    columns = Header(row, headerLine, required, pendingFaults);
                    // Without them no row says anything: one fault, not one for each row.
                    if (required.Any(r => !columns.ContainsKey(r))) { break; }
                    continue;
                }
                if (row.ColCount != columns.Count)
                {
                    pendingFaults.Add(row.LineNumberFrom, 0, $"{row.ColCount} fields", $"{columns.Count} fields, as the header has");
                    continue;
                }
                if (read(new(row, columns, pendingFaults), out var item)) { pending = (row.LineNumberFrom, item); }
            }
        }
        catch (Exception e) when (e is InvalidDataException or NotSupportedException)
        {
            if (!drop) { faults.Add(0, 0, e.Message, "fields as in RFC 4180"); }
        }
        if (!drop) { Commit(); }
        if (columns is null && !drop) { faults.Add(0, 0, "the file is empty", $"a header with the columns {string.Join(",", required)}"); }

        void Commit()
        {
            pendingFaults.MoveTo(faults);
            if (pending is { } p) { take(p.Item1, p.Item2); }
            pending = null;
        }
    }

    public static string Seconds(long? ns) =>
        ns is { } value ? new StimulusTime(value).Seconds.ToString("0.#########", CultureInfo.InvariantCulture) : "";

    public static string Whole(long? value) => value?.ToString(CultureInfo.InvariantCulture) ?? "";

    /// <summary>Quoted where a reader would otherwise take it for something else, or trim it.</summary>
    public static string Text(string value)
    {
        bool plain = value.AsSpan().IndexOfAny(",\"\r\n") < 0 && value.AsSpan().Trim().Length == value.Length && value.Length > 0;
        return plain ? value : $"\"{value.Replace("\"", "\"\"")}\"";
    }

    private static Dictionary<string, int> Header(SepReader.Row row, int line, IReadOnlyList<string> required, FaultList faults)
    {
        var columns = new Dictionary<string, int>(StringComparer.Ordinal);
        for (int i = 0; i < row.ColCount; i++)
        {
            string name = CsvRow.Content(row[i].Span).ToString();
            if (!columns.TryAdd(name, i))
            {
                faults.Add(line, 0, $"the column {name} twice", "each column once");
                columns.Add($"{name} (column {i + 1})", i);
            }
        }
        var missing = required.Where(r => !columns.ContainsKey(r)).ToList();
        if (missing.Count > 0)
        {
            faults.Add(
                line, 0, $"no column {string.Join(", ", missing)} in the header {FoundText.Show(row.Span)}",
                $"a header with {string.Join(",", required)}", row.Span.Contains(';') ? "part the columns with commas" : "");
        }
        return columns;
    }

    private static bool EndsInMidLine(string path)
    {
        using var file = PlainFile.OpenRead(path);
        if (file.Length == 0) { return true; }
        file.Seek(-1, SeekOrigin.End);
        return file.ReadByte() != '\n';
    }
}
