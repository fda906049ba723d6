using HilRunner.Core.Files;

namespace HilRunner.Core.Recordings.Import;

/// <summary>Which column is what, by the names of the columns or, without names, by their number.</summary>
internal static class ColumnGuess
{
    private const string Say = "say --columns to be sure";

    /// <param name="names">Of the file's columns; null: it names none.</param>
    /// <param name="rows">The first rows, for a file without names.</param>
    /// <exception cref="BadInputException">It cannot be told.</exception>
    public static ImportReading Complete(string path, ImportReading said, IReadOnlyList<string>? names, IReadOnlyList<string[]> rows, List<string> doubts)
    {
        var words = (names ?? []).Select(HeaderWord.Of).ToList();
        var reading = said.Columns is null ? said with { Columns = names is not null ? ByName(path, names, words, doubts) : ByNumber(path, said, rows, doubts), AllColumns = names is null } : said;
        return reading with
        {
            Acceleration = reading.Acceleration ?? Unit(reading, names, words, c => c.StartsWith('a'), path),
            Gyro = reading.Gyro ?? Unit(reading, names, words, c => c.StartsWith('g'), path),
            Time = reading.Time ?? TimeUnit(reading, names, words),
        };
    }

    private static List<ImportColumn> ByName(string path, IReadOnlyList<string> names, List<HeaderWord> words, List<string> doubts)
    {
        var columns = new List<ImportColumn>();
        bool bare = words.All(w => w.Role is null || !ColumnUse.ChannelNames.Contains(w.Role));
        string kind = bare && IsGyroFile(path) ? "g" : "a";
        for (int i = 0; i < words.Count; i++)
        {
            string? role = words[i].Role;
            if (role is "x" or "y" or "z") { role = bare ? kind + role : null; }
            if (role is null || columns.Any(c => c.Role == role)) { continue; }
            columns.Add(names.Count(n => n == names[i]) == 1 ? new(role, names[i], 0) : new(role, null, i + 1));
        }
        if (!columns.Any(c => ColumnUse.ChannelNames.Contains(c.Role)))
        {
            throw Unknown(path, $"columns {string.Join(", ", names.Take(12).Select(n => FoundText.Show(n)))}{(names.Count > 12 ? " …" : "")}, none of which is known to be motion", "say --columns ax=NAME,ay=NAME,az=NAME");
        }
        if (bare) { doubts.Add($"x, y and z taken for {(kind == "a" ? "acceleration" : "turning rate because of the file's name")}: {Say}"); }
        return columns;
    }

    private static List<ImportColumn> ByNumber(string path, ImportReading said, IReadOnlyList<string[]> rows, List<string> doubts)
    {
        int width = rows.Count == 0 ? 0 : rows.Select(r => r.Length).GroupBy(n => n).MaxBy(g => g.Count())!.Key;
        var even = rows.Where(r => r.Length == width).ToList();
        bool numeric = even.All(r => r.All(c => TextFormGuess.IsNumber(c, said.DecimalComma ?? false)));
        string a = IsGyroFile(path) ? "g" : "a";
        string[]? roles = !numeric ? null : (width, Rises(even, said.DecimalComma ?? false)) switch
        {
            (1, _) => null,
            (3, false) => [a + "x", a + "y", a + "z"],
            (4, true) => ["t", a + "x", a + "y", a + "z"],
            (6, false) => ["ax", "ay", "az", "gx", "gy", "gz"],
            (7, true) => ["t", "ax", "ay", "az", "gx", "gy", "gz"],
            _ => null,
        };
        if (roles is null) { throw Unknown(path, $"{width} column{(width == 1 ? "" : "s")} without names{(numeric ? "" : ", not all of them numbers")}", "say --columns, an entry for each column: ax ay az gx gy gz, t, label, or _ to skip"); }
        doubts.Add($"columns guessed as {string.Join(", ", roles)} because there are {width}{(a == "g" && width < 6 ? " and the file's name says gyro" : "")}: {Say}");
        return [.. roles.Select((r, i) => new ImportColumn(r, null, i + 1))];
    }

    private static bool Rises(List<string[]> rows, bool comma)
    {
        Span<char> text = stackalloc char[NumberText.Longest];
        decimal last = decimal.MinValue;
        foreach (string[] row in rows)
        {
            if (IsoStamp.TryRead(NumberText.Bare(row[0]), out long ns))
            {
                if (ns < last) { return false; }
                last = ns;
                continue;
            }
            string cell = NumberText.Bare(row[0]).ToString();
            if (comma) { cell = cell.Replace(',', '.'); }
            if (!decimal.TryParse(cell, System.Globalization.NumberStyles.Float, System.Globalization.CultureInfo.InvariantCulture, out decimal value) || value < last) { return false; }
            last = value;
        }
        return rows.Count > 2;
    }

    private static bool IsGyroFile(string path) => Path.GetFileName(path).Contains("gyr", StringComparison.OrdinalIgnoreCase);

    private static HeaderWord? WordOf(ImportColumn column, IReadOnlyList<string>? names, List<HeaderWord> words)
    {
        int at = column.Header is { } header ? names?.ToList().IndexOf(header) ?? -1 : column.Place - 1;
        return at >= 0 && at < words.Count ? words[at] : null;
    }

    /// <summary>The unit that the names of all channels of one kind agree on.</summary>
    private static ImportUnit? Unit(ImportReading reading, IReadOnlyList<string>? names, List<HeaderWord> words, Func<string, bool> kind, string path)
    {
        string?[] units = [.. reading.Columns!.Where(c => ColumnUse.ChannelNames.Contains(c.Role) && kind(c.Role)).Select(c => WordOf(c, names, words)?.Unit).Distinct()];
        bool acceleration = kind("a");
        if (units.OfType<string>().Any(u => !(acceleration ? u is "g" or "mg" or "m/s2" : u is "dps" or "mdps" or "rad/s"))) { return null; }
        if (units.Length > 1)
        {
            throw new BadInputException([new Fault(path, 0, 0, $"units {string.Join(", ", units.Select(u => u ?? "none"))} in the names of the {(acceleration ? "acceleration" : "gyro")} columns", "one unit for all axes", "bring the columns to one unit first")]);
        }
        return units is [{ } unit] ? new(unit) : null;
    }

    private static ImportTime? TimeUnit(ImportReading reading, IReadOnlyList<string>? names, List<HeaderWord> words) =>
        reading.Columns!.FirstOrDefault(c => c.Role == "t") is { } column && WordOf(column, names, words)?.Unit is { } unit
            ? ImportTime.Named.FirstOrDefault(t => t.Unit == unit) : null;

    private static BadInputException Unknown(string path, string found, string remedy) => new([new Fault(path, 0, 0, found, "columns that can be told apart", remedy)]);
}
