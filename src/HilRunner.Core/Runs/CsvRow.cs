using System.Globalization;
using HilRunner.Core.Files;
using HilRunner.Core.Time;
using nietras.SeparatedValues;

namespace HilRunner.Core.Runs;

/// <summary>A row's fields by column name. A field that cannot be read is a fault and gives null.</summary>
internal readonly ref struct CsvRow
{
    private const decimal Most = 9_223_372_036.854_775_807m;
    private const decimal Least = -9_223_372_036.854_775_808m;

    private readonly SepReader.Row _row;
    private readonly IReadOnlyDictionary<string, int> _columns;
    private readonly FaultList _faults;

    public CsvRow(SepReader.Row row, IReadOnlyDictionary<string, int> columns, FaultList faults)
    {
        _row = row;
        _columns = columns;
        _faults = faults;
    }

    /// <summary>Null where the file has no such column or the field is empty.</summary>
    public string? Text(string column)
    {
        var field = Field(column);
        return field.IsEmpty ? null : field.ToString();
    }

    public string? RequiredText(string column) => Text(column) ?? Missing<string>(column, "a name");

    /// <summary>Decimal seconds as nanoseconds, to the nearest.</summary>
    public long? Ns(string column)
    {
        var field = Field(column);
        if (field.IsEmpty) { return null; }
        if (decimal.TryParse(field, NumberStyles.Float, CultureInfo.InvariantCulture, out decimal seconds)
            && seconds is >= Least and <= Most)
        {
            return StimulusTime.FromSeconds(seconds).Ns;
        }
        return Bad<long?>(column, field, "decimal seconds such as 12.5");
    }

    public long? RequiredNs(string column) => IsEmpty(column) ? Missing<long?>(column, "decimal seconds such as 12.5") : Ns(column);

    public long? Whole(string column)
    {
        var field = Field(column);
        if (field.IsEmpty) { return null; }
        return long.TryParse(field, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out long value)
            ? value
            : Bad<long?>(column, field, "a whole number");
    }

    public long? RequiredWhole(string column) => IsEmpty(column) ? Missing<long?>(column, "a whole number") : Whole(column);

    public double? Number(string column)
    {
        var field = Field(column);
        if (field.IsEmpty) { return null; }
        return double.TryParse(field, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && double.IsFinite(value)
            ? value
            : Bad<double?>(column, field, "a finite number");
    }

    public T? Bad<T>(string column, ReadOnlySpan<char> found, string expected)
    {
        _faults.Add(_row.LineNumberFrom, Place(column), $"{column} is \"{found}\"", expected);
        return default;
    }

    private bool IsEmpty(string column) => Field(column).IsEmpty;

    private T? Missing<T>(string column, string expected)
    {
        _faults.Add(_row.LineNumberFrom, Place(column), $"{column} is empty", expected);
        return default;
    }

    private ReadOnlySpan<char> Field(string column) =>
        _columns.TryGetValue(column, out int index) && index < _row.ColCount ? Content(_row[index].Span) : default;

    /// <summary>
    /// A field without blanks around it and without its quotation marks. The parser's own trimming also takes blanks away that
    /// stand inside the marks of a field with doubled marks (Sep 0.17.1), so it only splits.
    /// </summary>
    public static ReadOnlySpan<char> Content(ReadOnlySpan<char> raw)
    {
        var field = raw.Trim();
        if (field.Length < 2 || field[0] != '"' || field[^1] != '"') { return field; }
        var inner = field[1..^1];
        return inner.Contains('"') ? inner.ToString().Replace("\"\"", "\"") : inner;
    }

    /// <summary>1-based place of the field's first character in its line.</summary>
    private int Place(string column)
    {
        if (!_columns.TryGetValue(column, out int index) || index >= _row.ColCount) { return 0; }
        return _row.Span.Overlaps(_row[index].Span, out int offset) ? offset + 1 : PlaceOfEmpty(index);
    }

    /// <summary>An empty field has no characters that could be found in the line: count the fields before it.</summary>
    private int PlaceOfEmpty(int index)
    {
        int place = 1;
        for (int i = 0; i < index; i++) { place += _row[i].Span.Length + 1; }
        return place;
    }
}
