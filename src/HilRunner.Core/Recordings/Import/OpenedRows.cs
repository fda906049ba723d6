using HilRunner.Core.Recordings.Parquet;

namespace HilRunner.Core.Recordings.Import;

/// <summary>A file opened at its first row of data, and what its header said.</summary>
/// <param name="Header">Null: the file names no columns.</param>
internal sealed record OpenedRows(RowReader Rows, IReadOnlyList<string>? Header, int HeaderLine) : IDisposable
{
    /// <param name="reading">With nothing left open but its columns.</param>
    /// <param name="names">Of a JSON file: the names that count.</param>
    /// <exception cref="BadInputException">No such file, or no rows in it.</exception>
    public static OpenedRows Open(string path, ImportReading reading, IReadOnlyList<string> names) => InputFile.Using(path, "a log", () =>
    {
        switch (reading.Format)
        {
            case ImportFormat.JsonLines:
                var text = new StreamReader(path, TextRows.EncodingOf(reading.Encoding ?? TextCoding.Utf8), detectEncodingFromByteOrderMarks: true);
                return new OpenedRows(new JsonRows(path, text, names), names, 0);
            case ImportFormat.Parquet:
                var parquet = ParquetRowReader.Open(path);
                return new OpenedRows(parquet, parquet.Names, 0);
            default:
                return WithHeader(path, TextRows.Open(path, reading), reading.Header ?? false);
        }
    });

    public void Dispose() => Rows.Dispose();

    private static OpenedRows WithHeader(string path, RowReader rows, bool header)
    {
        if (!header) { return new(rows, null, 0); }
        try
        {
            if (rows.MoveNext()) { return new(rows, [.. Enumerable.Range(0, rows.Count).Select(i => CsvText.Unquote(rows[i]))], rows.Line); }
        }
        catch
        {
            rows.Dispose();
            throw;
        }
        rows.Dispose();
        throw new BadInputException([new Fault(path, 0, 0, "no line with the names of the columns", "a header and lines of numbers")]);
    }
}
