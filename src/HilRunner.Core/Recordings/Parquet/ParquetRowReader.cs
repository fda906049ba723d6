using HilRunner.Core.Files;
using Parquet;
using Parquet.Schema;

namespace HilRunner.Core.Recordings.Parquet;

/// <summary>
/// A Parquet file of flat columns as rows of text cells, so that all that reads tables reads it. Row groups are read one at a
/// time. Decimals come as they stood in the text that they were made of; other numbers in their shortest form that reads back
/// the same; a null is an empty cell.
/// </summary>
internal sealed class ParquetRowReader : RowReader
{
    /// <summary>
    /// Most rows of one group. Its columns are read one after the other, and go to disk where they are long: what one column
    /// takes while the library unpacks it is what a group takes. Usual writers make groups of 100 000 to a million rows.
    /// </summary>
    private const int MostRows = 2_000_000;

    /// <summary>Most rows of one group in which a column holds text: texts stay in memory.</summary>
    private const int MostTextRows = 500_000;

    private readonly string _path;
    private readonly ParquetReader _reader;
    private readonly ParquetIntegrity _integrity;
    private readonly DataField[] _fields;
    private readonly ParquetColumn[] _columns;
    private readonly bool _header;
    private int _group;
    private int _row = -1;
    private int _rows;
    private int _line;

    private ParquetRowReader(string path, ParquetReader reader, ParquetIntegrity integrity, bool header)
    {
        (_path, _reader, _integrity, _header) = (path, reader, integrity, header);
        _fields = reader.Schema.DataFields;
        Metadata = reader.CustomMetadata ?? [];
        var forms = ParquetMetadata.TextForms(Metadata);
        _columns = [.. _fields.Select(f => ParquetColumn.Of(f, forms.GetValueOrDefault(f.Name)))];
        Names = [.. _fields.Select(f => f.Path.ToString().Replace('/', '.'))];
    }

    public IReadOnlyList<string> Names { get; }
    public IReadOnlyDictionary<string, string> Metadata { get; }

    /// <param name="path">The file.</param>
    /// <param name="header">True: the first row holds the names of the columns, as in a text.</param>
    /// <exception cref="BadInputException">No Parquet, or one that cannot be read as a table.</exception>
    public static ParquetRowReader Open(string path, bool header = false)
    {
        var integrity = Guarded(path, () => new ParquetIntegrity(path));
        ParquetReader? reader = null;
        try
        {
            reader = Guarded(path, () => ParquetReader.CreateAsync(path).GetAwaiter().GetResult());
            var rows = Guarded(path, () => new ParquetRowReader(path, reader, integrity, header));
            if (rows._fields.Length == 0) { throw Bad(path, "no columns", "columns of numbers"); }
            return rows;
        }
        catch
        {
            integrity.Dispose();
            reader?.DisposeAsync().AsTask().GetAwaiter().GetResult();
            throw;
        }
    }

    public override int Line => _line;
    public override int Count => _columns.Length;
    public override ReadOnlySpan<char> this[int cell] => _header && _line == 1 ? Names[cell] : _columns[cell].Text(_row);
    public override int Column(int cell) => 0;
    public override void Dispose()
    {
        _integrity.Dispose();
        _reader.DisposeAsync().AsTask().GetAwaiter().GetResult();
    }

    public override bool MoveNext()
    {
        if (_header && _line == 0)
        {
            _line = 1;
            return true;
        }
        while (_row + 1 >= _rows)
        {
            if (_group == _reader.RowGroupCount) { return false; }
            Guarded(_path, () => ReadGroup(_group));
            _group++;
            _row = -1;
        }
        _row++;
        _line++;
        return true;
    }

    private bool ReadGroup(int index)
    {
        using var group = _reader.OpenRowGroupReader(index);
        int most = _columns.Any(c => c.IsText) ? MostTextRows : MostRows;
        if (group.RowCount < 0 || group.RowCount > most)
        {
            throw Bad(_path, $"a row group of {group.RowCount} rows",
                $"at most {most} rows in a group{(most == MostTextRows ? " with a column of text" : "")}",
                "write it again with smaller row groups");
        }
        _integrity.CheckGroup(group.RowGroup);
        for (int i = 0; i < _fields.Length; i++) { _columns[i].Read(group, _fields[i], (int)group.RowCount); }
        _rows = (int)group.RowCount;
        return true;
    }

    /// <summary>The library fails on damaged files with whatever its parsing met: no file may be read as anything but a fault.</summary>
    private static T Guarded<T>(string path, Func<T> read)
    {
        try { return read(); }
        catch (Exception e)
            when (e is not (BadInputException or TemporaryFileException
                or FileNotFoundException or DirectoryNotFoundException or UnauthorizedAccessException))
        {
            string message = string.Concat(e.Message.Select(c => char.IsControl(c) ? ' ' : c)).Trim().TrimEnd('.');
            throw Bad(path, $"no Parquet file that can be read ({(e is InvalidDataException ? "" : $"{e.GetType().Name}: ")}{message[..Math.Min(message.Length, 120)]})", "a whole Parquet file of flat columns");
        }
    }

    private static BadInputException Bad(string path, string found, string expected, string remedy = "") => new([new Fault(path, 0, 0, found, expected, remedy)]);
}
