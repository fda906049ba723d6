using System.Collections;
using System.Globalization;
using HilRunner.Core.Files;
using Parquet;
using Parquet.Schema;

namespace HilRunner.Core.Recordings.Parquet;

/// <summary>One column's values of a row group, as text.</summary>
internal abstract class ParquetColumn
{
    /// <summary>Fits every number that a column may hold.</summary>
    protected char[] Buffer { get; } = new char[64];

    /// <summary>True: its values are texts of any length.</summary>
    public virtual bool IsText => false;

    public abstract void Read(ParquetRowGroupReader group, DataField field, int rows);

    /// <summary>Valid until the next call.</summary>
    public abstract ReadOnlySpan<char> Text(int row);

    /// <param name="form">How the numbers stood in text (<see cref="ParquetMetadata.Text"/>); null: not said.</param>
    public static ParquetColumn Of(DataField field, string? form)
    {
        if (field.IsArray || field.MaxRepetitionLevel > 0) { return new UnreadableColumn(); }
        Type type = field.ClrType;
        if (type == typeof(string) || type == typeof(ReadOnlyMemory<char>)) { return new TextColumn(); }
        if (type == typeof(decimal))
        {
            return new NumberColumn<decimal>(form == ParquetMetadata.Trimmed ? "0.############################"
                : $"F{Math.Clamp((field as DecimalDataField)?.Scale ?? 0, 0, NumberForm.MostDigits).ToString(CultureInfo.InvariantCulture)}");
        }
        if (type == typeof(double)) { return new NumberColumn<double>("R"); }
        if (type == typeof(float)) { return new NumberColumn<float>("R"); }
        if (type == typeof(DateTime)) { return new NumberColumn<DateTime>("yyyy-MM-ddTHH:mm:ss.fffffffK"); }
        if (type == typeof(long)) { return new NumberColumn<long>(""); }
        if (type == typeof(int)) { return new NumberColumn<int>(""); }
        if (type == typeof(short)) { return new NumberColumn<short>(""); }
        if (type == typeof(sbyte)) { return new NumberColumn<sbyte>(""); }
        if (type == typeof(byte)) { return new NumberColumn<byte>(""); }
        if (type == typeof(ushort)) { return new NumberColumn<ushort>(""); }
        if (type == typeof(uint)) { return new NumberColumn<uint>(""); }
        if (type == typeof(ulong)) { return new NumberColumn<ulong>(""); }
        return new UnreadableColumn();
    }

    /// <summary>Of a type that no quantity has; its cells are empty.</summary>
    private sealed class UnreadableColumn : ParquetColumn
    {
        public override void Read(ParquetRowGroupReader group, DataField field, int rows) { }
        public override ReadOnlySpan<char> Text(int row) => [];
    }

    private sealed class TextColumn : ParquetColumn
    {
        private string?[] _values = [];

        public override bool IsText => true;

        public override void Read(ParquetRowGroupReader group, DataField field, int rows)
        {
            if (_values.Length < rows) { _values = new string[rows]; }
            Array.Clear(_values);
            group.ReadAsync(field, _values.AsMemory(0, rows)!).AsTask().GetAwaiter().GetResult();
        }

        public override ReadOnlySpan<char> Text(int row) => _values[row];
    }

    private sealed class NumberColumn<T>(string format) : ParquetColumn where T : unmanaged, ISpanFormattable
    {
        /// <summary>
        /// Rows that are held in memory from one group to the next; more go through a series, which may lie on disk.
        /// </summary>
        private const int MostHeld = 1 << 18;

        private T[] _values = [];
        private T?[] _nullable = [];
        private Series<T>? _series;
        /// <summary>Where the series has no value; null: nowhere.</summary>
        private BitArray? _absent;

        public override void Read(ParquetRowGroupReader group, DataField field, int rows)
        {
            (_series, _absent) = (null, null);
            if (field.IsNullable)
            {
                if (_nullable.Length < rows) { _nullable = new T?[rows]; }
                group.ReadAsync(field, _nullable.AsMemory(0, rows)).AsTask().GetAwaiter().GetResult();
            }
            else
            {
                if (_values.Length < rows) { _values = new T[rows]; }
                group.ReadAsync(field, _values.AsMemory(0, rows)).AsTask().GetAwaiter().GetResult();
            }
            if (rows > MostHeld) { ToSeries(rows); }
        }

        public override ReadOnlySpan<char> Text(int row)
        {
            if (_absent is null ? _series is null && _nullable.Length > 0 && _nullable[row] is null : _absent[row]) { return []; }
            T value = _series is not null ? _series[row] : _nullable.Length > 0 ? _nullable[row]!.Value : _values[row];
            return value.TryFormat(Buffer, out int written, format, CultureInfo.InvariantCulture) ? Buffer.AsSpan(0, written) : [];
        }

        private void ToSeries(int rows)
        {
            var series = new SeriesBuilder<T>();
            if (_nullable.Length > 0) { _absent = new(rows); }
            for (int i = 0; i < rows; i++)
            {
                series.Add(_absent is null ? _values[i] : _nullable[i].GetValueOrDefault());
                if (_absent is not null && _nullable[i] is null) { _absent[i] = true; }
            }
            _series = series.Build();
            (_values, _nullable) = ([], []);
        }
    }
}
