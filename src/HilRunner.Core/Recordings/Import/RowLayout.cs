using HilRunner.Core.Documents;
using HilRunner.Core.Files;

namespace HilRunner.Core.Recordings.Import;

/// <summary>Which cell of a row holds what.</summary>
/// <param name="Count">Cells that every row has; 0: as many as the first one.</param>
/// <param name="Time">-1: none.</param>
/// <param name="Label">-1: none.</param>
internal sealed record RowLayout(int Count, int Time, int Label, IReadOnlyList<(string Channel, int Cell)> Channels, int[] Key, (int Cell, string Value)[] Where)
{
    /// <param name="reading">With its columns.</param>
    /// <param name="header">Names of the file's columns; null: it has none.</param>
    /// <param name="splitBy">Roles or names.</param>
    /// <param name="where">Role or name → value.</param>
    public static RowLayout? Of(ImportReading reading, IReadOnlyList<string>? header, IReadOnlyList<string> splitBy, IReadOnlyDictionary<string, string> where, int headerLine, FaultList faults)
    {
        var columns = reading.Columns ?? [];
        int Find(string role)
        {
            var column = columns.FirstOrDefault(c => c.Role == role);
            return column is null ? InHeader(header, role) : column.Header is { } name ? InHeader(header, name) : column.Place - 1;
        }

        int Needed(string role, string why)
        {
            int cell = Find(role);
            if (cell >= 0) { return cell; }
            var known = columns.Select(c => c.Role).Where(r => r != "_").Concat(header ?? []).Distinct().ToList();
            string? near = EditDistance.Nearest(role, known);
            faults.Add(headerLine, 0, $"no column {FoundText.Show(role)}, which {why}", known.Count == 0 ? "a column that is there" : "one of " + Shown(known), near is null ? "" : $"did you mean {near}?");
            return -1;
        }

        long before = faults.Count;
        foreach (var column in columns.Where(c => c.Header is not null))
        {
            int places = header?.Count(h => h == column.Header) ?? 0;
            if (places == 1) { continue; }
            string? near = EditDistance.Nearest(column.Header!, header ?? []);
            faults.Add(headerLine, 0, $"{(places == 0 ? "no" : "more than one")} column {FoundText.Show(column.Header)} for {column.Role}",
                header is null ? "a header, or column numbers" : "one of " + Shown(header), near is null ? "" : $"did you mean {near}?");
        }
        if (header is not null && columns.FirstOrDefault(c => c.Header is null && c.Place > header.Count) is { } beyond)
        {
            faults.Add(headerLine, 0, $"{header.Count} columns", $"a column {beyond.Place} for {beyond.Role}");
        }
        if (faults.Count != before) { return null; }
        var layout = new RowLayout(
            header?.Count ?? (reading.AllColumns ? columns.Count : 0),
            columns.Any(c => c.Role == "t") ? Find("t") : -1,
            columns.Any(c => c.Role == "label") ? Find("label") : -1,
            [.. columns.Where(c => ColumnUse.ChannelNames.Contains(c.Role)).Select(c => (c.Role, Find(c.Role)))],
            [.. splitBy.Select(s => Needed(s, "split_by names"))],
            [.. where.Select(w => (Needed(w.Key, "where names"), w.Value))]);
        return faults.Count == before ? layout : null;
    }

    /// <summary>The highest cell that is looked at.</summary>
    public int Highest { get; } = new[] { Time, Label }.Concat(Channels.Select(c => c.Cell)).Concat(Key).Concat(Where.Select(w => w.Cell)).Max();

    private static int InHeader(IReadOnlyList<string>? header, string name) => header?.ToList().IndexOf(name) ?? -1;

    private static string Shown(IReadOnlyList<string> names) =>
        string.Join(", ", names.Take(20).Select(n => FoundText.Show(n).Trim('\''))) + (names.Count > 20 ? ", …" : "");
}
