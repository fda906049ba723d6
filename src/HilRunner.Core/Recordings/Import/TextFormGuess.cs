using System.Globalization;

namespace HilRunner.Core.Recordings.Import;

/// <summary>Reads separator, decimal mark, header and the like off the first lines of a text.</summary>
internal static class TextFormGuess
{
    private const int MostLines = 1000;
    private const int MostPreamble = 100;

    private static readonly string[] s_comments = ["#", "%", "//"];
    private static readonly (string Separator, bool Comma)[] s_forms =
        [("tab", false), ("tab", true), ("semicolon", false), ("semicolon", true), ("comma", false), ("space", false), ("space", true)];

    /// <returns>The reading with nothing of the text's form left open.</returns>
    /// <exception cref="BadInputException">No rows of numbers in sight.</exception>
    public static ImportReading Complete(string path, LogSample sample, ImportReading said, List<string> doubts)
    {
        if (!sample.CodingIsSure && said.Encoding is null) { doubts.Add($"encoding guessed as {(sample.Coding == TextCoding.Latin1 ? "latin1 because the text is no UTF-8" : "utf-16 because every other byte is 0")}: say --encoding to be sure"); }
        string comment = said.Comment ?? s_comments.FirstOrDefault(c => sample.Lines.Any(l => l.TrimStart().StartsWith(c, StringComparison.Ordinal))) ?? "";
        string[] lines = [.. sample.Lines.Skip(said.Skip ?? 0).Where(l => !string.IsNullOrWhiteSpace(l) && (comment.Length == 0 || !l.TrimStart().StartsWith(comment, StringComparison.Ordinal))).Take(MostLines)];
        if (lines.Length == 0) { throw new BadInputException([new Fault(path, 0, 0, "no line of data", "rows of numbers")]); }
        bool quotes = said.Quotes ?? lines.Any(l => l.Contains('"', StringComparison.Ordinal));
        // The tail tells the form: what stands before the data is at the head.
        string[] tail = lines.Length > 2 ? lines[(lines.Length / 2)..] : lines[^1..];
        string end = said.LineEnd ?? new[] { ";", "," }.FirstOrDefault(e => tail.All(l => l.TrimEnd().EndsWith(e, StringComparison.Ordinal))) ?? "";
        var best = s_forms.Where(f => (said.Separator is null || f.Separator == said.Separator) && (said.DecimalComma is null || f.Comma == said.DecimalComma))
            .DefaultIfEmpty((Separator: said.Separator ?? "comma", Comma: said.DecimalComma ?? false))
            .MaxBy(f => Score(tail, f.Separator, f.Comma, end, quotes));
        int width = ModalWidth(tail, best.Separator, end, quotes);
        int skip = said.Skip ?? Preamble(sample.Lines, comment, best.Separator, end, quotes, width, lines);
        if (said.Skip is null && skip > 0) { doubts.Add($"the first {skip} line{(skip == 1 ? "" : "s")} left out because {(skip == 1 ? "it has" : "they have")} not {width} columns: say --skip to be sure"); }
        string first = sample.Lines.Skip(skip).First(l => !string.IsNullOrWhiteSpace(l) && (comment.Length == 0 || !l.TrimStart().StartsWith(comment, StringComparison.Ordinal)));
        bool header = said.Header ?? IsHeader(Cells(first, best.Separator, end, quotes), [.. tail.Select(l => Cells(l, best.Separator, end, quotes))], best.Comma, lines.Length);
        return said with { Encoding = said.Encoding ?? sample.Coding, Comment = comment, Quotes = quotes, LineEnd = end, Separator = best.Separator, DecimalComma = best.Comma, Skip = skip, Header = header };
    }

    /// <summary>The cells of a line: a plain split, which is enough to tell the form.</summary>
    public static string[] Cells(string line, string separator, string end, bool quotes)
    {
        line = line.TrimEnd();
        if (end.Length > 0 && line.EndsWith(end, StringComparison.Ordinal)) { line = line[..^end.Length]; }
        if (separator == "space") { return line.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries); }
        char mark = separator switch { "tab" => '\t', "semicolon" => ';', _ => ',' };
        if (!quotes || !line.Contains('"', StringComparison.Ordinal)) { return line.Split(mark); }
        var cells = new List<string>();
        bool inside = false;
        int start = 0;
        for (int i = 0; i <= line.Length; i++)
        {
            if (i < line.Length && line[i] == '"') { inside = !inside; }
            if (i < line.Length && (line[i] != mark || inside)) { continue; }
            cells.Add(line[start..i]);
            start = i + 1;
        }
        return [.. cells];
    }

    public static bool IsNumber(string cell, bool comma)
    {
        Span<char> text = stackalloc char[NumberText.Longest];
        return NumberText.Read(cell, comma, text, out _) > 0 || IsStamp(cell);
    }

    /// <summary>Too large for a sample, but a time: nanoseconds since some start, or ISO 8601.</summary>
    private static bool IsStamp(string cell) =>
        decimal.TryParse(NumberText.Bare(cell), NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out _) || IsoStamp.TryRead(NumberText.Bare(cell), out _);

    private static double Score(string[] lines, string separator, bool comma, string end, bool quotes)
    {
        int width = ModalWidth(lines, separator, end, quotes), even = 0, numbers = 0, cells = 0;
        bool marked = false;
        foreach (string line in lines)
        {
            string[] row = Cells(line, separator, end, quotes);
            if (row.Length == width) { even++; }
            foreach (string cell in row)
            {
                cells++;
                if (IsNumber(cell, comma)) { numbers++; }
                marked |= comma && cell.Contains(',', StringComparison.Ordinal);
            }
        }
        // A decimal comma that is nowhere to be seen is none; more columns win among equals.
        return (double)even / lines.Length * numbers / cells + (width > 1 ? 0.2 : 0) + Math.Min(width, 50) * 1e-4 - (comma && !marked ? 0.01 : 0);
    }

    private static int ModalWidth(string[] lines, string separator, string end, bool quotes) =>
        lines.Select(l => Cells(l, separator, end, quotes).Length).GroupBy(n => n).MaxBy(g => (g.Count(), g.Key))!.Key;

    /// <summary>Lines before the first that has the usual number of columns.</summary>
    private static int Preamble(IReadOnlyList<string> all, string comment, string separator, string end, bool quotes, int width, string[] data)
    {
        if (Cells(data[0], separator, end, quotes).Length == width) { return 0; }
        for (int i = 0; i < Math.Min(all.Count, MostPreamble); i++)
        {
            bool counts = !string.IsNullOrWhiteSpace(all[i]) && (comment.Length == 0 || !all[i].TrimStart().StartsWith(comment, StringComparison.Ordinal));
            if (counts && Cells(all[i], separator, end, quotes).Length == width) { return i; }
        }
        return 0;
    }

    /// <summary>A name stands over a column that holds numbers in half of the later lines or more.</summary>
    private static bool IsHeader(string[] first, string[][] later, bool comma, int lines)
    {
        if (lines == 1) { return !first.Any(c => IsNumber(c, comma)); }
        for (int i = 0; i < first.Length; i++)
        {
            int column = i;
            if (!IsNumber(first[i], comma) && !string.IsNullOrWhiteSpace(first[i]) && later.Count(l => l.Length > column && IsNumber(l[column], comma)) * 2 >= later.Length) { return true; }
        }
        return false;
    }
}
