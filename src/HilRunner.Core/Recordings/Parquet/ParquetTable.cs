using System.Globalization;
using System.IO.Compression;
using HilRunner.Core.Files;
using Parquet;
using Parquet.Schema;

namespace HilRunner.Core.Recordings.Parquet;

/// <summary>Writes columns of numbers, row by row, in row groups of fixed size, into a file that appears when it is whole.</summary>
internal sealed class ParquetTable : IDisposable
{
    /// <summary>Rows in a group: what a reader holds in memory.</summary>
    public const int GroupRows = 1 << 17;

    private readonly NewFile _file;
    private readonly ParquetWriter _writer;
    private readonly Column[] _columns;
    private int _rows;
    private bool _open = true;

    /// <param name="path">NAME.parquet.</param>
    /// <param name="columns">Name and form; a form without decimals makes a column of doubles.</param>
    public ParquetTable(string path, IReadOnlyList<(string Name, NumberForm Form)> columns)
    {
        _columns = [.. columns.Select(c => new Column(c.Name, c.Form))];
        _file = new(path);
        var options = new ParquetOptions { CompressionMethod = CompressionMethod.Zstd, CompressionLevel = CompressionLevel.Optimal, DictionaryEncodingThreshold = 0 };
        _writer = ParquetWriter.CreateAsync(new ParquetSchema(_columns.Select(c => c.Field)), _file.Stream, options)
            .GetAwaiter().GetResult();
    }

    /// <summary>The cells of the row under way, one for each column in their order; then <see cref="EndRow"/>.</summary>
    public void Cell(int column, ReadOnlySpan<char> text, double value) => _columns[column].Set(_rows, text, value);

    public void EndRow()
    {
        if (++_rows == GroupRows) { WriteGroup(); }
    }

    /// <summary>Writes the rest; the file is there under its name.</summary>
    public void Complete(IReadOnlyDictionary<string, string> metadata)
    {
        if (_rows > 0) { WriteGroup(); }
        string forms = string.Concat(_columns.Where(c => c.Form.Decimal is not null).Select(c => $"{c.Field.Name} {c.Form.Decimal}\n"));
        _writer.CustomMetadata = new Dictionary<string, string>(metadata) { [ParquetMetadata.Text] = forms };
        Close();
        _file.Complete();
        _file.Dispose();
    }

    public void Dispose()
    {
        if (!_open) { return; }
        Close();
        _file.Dispose();
    }

    private void Close()
    {
        _open = false;
        _writer.DisposeAsync().AsTask().GetAwaiter().GetResult();
    }

    private void WriteGroup()
    {
        using var group = _writer.CreateRowGroup();
        foreach (var column in _columns) { column.Write(group, _rows); }
        _rows = 0;
    }

    private sealed class Column(string name, NumberForm form)
    {
        private readonly decimal[]? _decimals = form.Decimal is null ? null : new decimal[GroupRows];
        private readonly double[]? _doubles = form.Decimal is null ? new double[GroupRows] : null;

        public NumberForm Form => form;
        public DataField Field { get; } = form.Decimal is null
            ? new DataField<double>(name, false)
            : new DecimalDataField(name, form.Precision <= 18 ? 18 : NumberForm.MostDigits, form.Scale, isNullable: false);

        public void Set(int row, ReadOnlySpan<char> text, double value)
        {
            if (_doubles is not null) { _doubles[row] = value; }
            else { _decimals![row] = Decimal(text); }
        }

        /// <summary>By hand where 18 digits hold it, as they nearly always do: the framework's parser costs more than all else here.</summary>
        private static decimal Decimal(ReadOnlySpan<char> text)
        {
            const int safeDigits = 18;
            if (text.Length > safeDigits) { return decimal.Parse(text, NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture); }
            bool negative = text[0] == '-';
            long digits = 0;
            int scale = -1;
            foreach (char c in negative ? text[1..] : text)
            {
                if (c == '.')
                {
                    scale = 0;
                    continue;
                }
                digits = digits * 10 + (c - '0');
                if (scale >= 0) { scale++; }
            }
            return new((int)digits, (int)(digits >> 32), 0, negative, (byte)Math.Max(scale, 0));
        }

        public void Write(ParquetRowGroupWriter group, int rows)
        {
            if (_doubles is not null) { group.WriteAsync<double>(Field, _doubles.AsMemory(0, rows)).GetAwaiter().GetResult(); }
            else { group.WriteAsync<decimal>(Field, _decimals.AsMemory(0, rows)).GetAwaiter().GetResult(); }
        }
    }
}
