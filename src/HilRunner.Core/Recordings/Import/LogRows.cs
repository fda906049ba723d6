using HilRunner.Core.Files;

namespace HilRunner.Core.Recordings.Import;

/// <summary>A stream of rows of a log; one file's, or two joined.</summary>
internal interface IImportRows : IDisposable
{
    IReadOnlyList<ChannelPlan> Channels { get; }
    bool HasTime { get; }
    bool HasLabel { get; }
    ImportRow Row { get; }

    /// <summary>Goes to the next row of data, whatever its outcome; false at the end.</summary>
    bool MoveNext();
}

/// <summary>The rows of one file, with their numbers, times and labels.</summary>
internal sealed class LogRows : IImportRows
{
    private const int MostRemembered = 10_000;

    private readonly OpenedRows _file;
    private readonly RowLayout _layout;
    private readonly ChannelPlan[] _channels;
    private readonly int[] _cells;
    private readonly bool[] _scaled;
    private readonly StampReader? _stamps;
    private readonly Dictionary<string, StampReader>? _stampsOfKeys;
    private readonly ImportTime _time;
    private readonly bool _comma;
    private readonly FaultList _bad;
    private readonly IReadOnlyDictionary<string, string> _names;
    private readonly Dictionary<string, string> _texts = [];
    private readonly Dictionary<string, string>.AlternateLookup<ReadOnlySpan<char>> _lookup;
    private int _count;

    /// <param name="map">With nothing left open.</param>
    /// <param name="reading">Of this file.</param>
    /// <param name="main">False: of the second file, which has no labels, filters or parts.</param>
    /// <param name="bad">Where rows that cannot be read are told.</param>
    /// <exception cref="BadInputException">The file has not the columns that the map names.</exception>
    public LogRows(string path, ImportMap map, ImportReading reading, bool main, FaultList bad)
    {
        var splitBy = main ? map.SplitBy : [];
        var where = main ? map.Where : new Dictionary<string, string>();
        string[] names = [.. (reading.Columns ?? []).Select(c => c.Header).OfType<string>().Concat(splitBy).Concat(where.Keys).Distinct()];
        _file = OpenedRows.Open(path, reading, names);
        var faults = new FaultList(path);
        var layout = RowLayout.Of(reading, _file.Header, splitBy, where, _file.HeaderLine, faults);
        if (layout is null)
        {
            _file.Dispose();
            faults.ThrowIfAny();
        }
        _layout = layout!;
        _comma = reading.DecimalComma ?? false;
        _time = reading.Time ?? ImportTime.Seconds;
        _stamps = _layout.Time >= 0 ? new(_time, _comma) : null;
        // Counters of several devices in one file each wrap for themselves.
        _stampsOfKeys = _time.Bits > 0 && _layout.Key.Length > 0 ? [] : null;
        _count = _layout.Count;
        _bad = bad;
        _names = map.Names;
        _lookup = _texts.GetAlternateLookup<ReadOnlySpan<char>>();
        _channels = [.. _layout.Channels.Select(c => ChannelPlan.Of(c.Channel, (ColumnUse.IsAcceleration(c.Channel) ? reading.Acceleration : reading.Gyro)!))];
        _cells = [.. _layout.Channels.Select(c => c.Cell)];
        _scaled = [.. _channels.Select(c => c.Factor != 1)];
        HasLabel = main && _layout.Label >= 0;
        Row = new(_channels.Length);
    }

    public IReadOnlyList<ChannelPlan> Channels => _channels;
    public bool HasTime => _stamps is not null;
    public bool HasLabel { get; }
    public ImportRow Row { get; }
    public void Dispose() => _file.Dispose();

    public bool MoveNext()
    {
        if (!_file.Rows.MoveNext()) { return false; }
        Row.Lines = _file.Rows.Lines;
        Row.Number += Row.Lines;
        Row.Line = _file.Rows.Line;
        Row.Outcome = Read(_file.Rows);
        return true;
    }

    private RowOutcome Read(RowReader cells)
    {
        if (cells.Trouble is { } trouble) { return Bad(0, trouble, "a whole row on one line", _file.Rows.Lines > 1 ? "say quotes: false if no cell is quoted" : ""); }
        if (_count == 0) { _count = cells.Count; }
        if (cells.Count != _count || _layout.Highest >= cells.Count)
        {
            return Bad(0, $"{cells.Count} columns", $"{Math.Max(_count, _layout.Highest + 1)}", _file.Rows is TextRows && HasQuotes(cells) ? "say quotes: true if cells are quoted" : "");
        }
        foreach (var (cell, value) in _layout.Where)
        {
            if (!SameText(NumberText.Bare(cells[cell]), value)) { return RowOutcome.LeftOut; }
        }
        if (_layout.Key.Length > 0) { Row.Key = Key(cells); }
        if (_stamps is not null)
        {
            if (!StampsOf(Row.Key).TryRead(cells[_layout.Time], out long ns))
            {
                return Bad(cells.Column(_layout.Time), $"{FoundText.Show(cells[_layout.Time])} as t", _stamps.Expected);
            }
            Row.SetTime(ns, NumberText.Bare(cells[_layout.Time]));
        }
        for (int i = 0; i < _cells.Length; i++)
        {
            int cell = _cells[i];
            int length = NumberText.Read(cells[cell], _comma, Row.Slot(i), out double value);
            if (length == 0) { return Bad(cells.Column(cell), $"{FoundText.Show(cells[cell])} as {_channels[i].Channel}", "a finite number such as -0.98"); }
            if (_scaled[i])
            {
                length = NumberText.Multiply(Row.Slot(i), length, _channels[i].Factor, ref value);
                if (!(Math.Abs(value) <= CsvText.LargestValue)) { return Bad(cells.Column(cell), $"{FoundText.Show(cells[cell])} as {_channels[i].Channel}", "a smaller number"); }
            }
            Row.SetLength(i, length);
            Row.Values[i] = value;
        }
        if (HasLabel) { Row.Label = Class(cells[_layout.Label]); }
        return RowOutcome.Taken;
    }

    private StampReader StampsOf(string key)
    {
        if (_stampsOfKeys is null) { return _stamps!; }
        if (_stampsOfKeys.TryGetValue(key, out var known)) { return known; }
        var made = new StampReader(_time, _comma);
        if (_stampsOfKeys.Count < MostRemembered) { _stampsOfKeys.Add(key, made); }
        return made;
    }

    private RowOutcome Bad(int column, string found, string expected, string remedy = "")
    {
        _bad.Add(Row.Line, column, found, expected, remedy);
        return RowOutcome.Bad;
    }

    private static bool HasQuotes(RowReader cells)
    {
        for (int i = 0; i < cells.Count; i++)
        {
            if (cells[i].Contains('"')) { return true; }
        }
        return false;
    }

    private string Class(ReadOnlySpan<char> cell)
    {
        if (_lookup.TryGetValue(cell, out string? known)) { return known; }
        string code = CsvText.Unquote(cell);
        string name = _names.GetValueOrDefault(code, code);
        if (_texts.Count < MostRemembered) { _lookup[cell] = name; }
        return name;
    }

    private string Key(RowReader cells)
    {
        // The usual case by far: the same as in the row before.
        var last = Row.Key.AsSpan();
        bool same = true;
        foreach (int cell in _layout.Key)
        {
            var part = NumberText.Bare(cells[cell]);
            same = last.Length > part.Length && last.StartsWith(part, StringComparison.Ordinal) && last[part.Length] == '\u001f';
            if (!same) { break; }
            last = last[(part.Length + 1)..];
        }
        if (same && last.Length == 0) { return Row.Key; }
        return string.Concat(_layout.Key.Select(c => NumberText.Bare(cells[c]).ToString() + '\u001f'));
    }

    /// <summary>As text, or as whole numbers: 01 is 1.</summary>
    public static bool SameText(ReadOnlySpan<char> found, string wanted) =>
        found.SequenceEqual(wanted)
        || (long.TryParse(found, System.Globalization.NumberStyles.AllowLeadingSign, System.Globalization.CultureInfo.InvariantCulture, out long a)
            && long.TryParse(wanted, System.Globalization.NumberStyles.AllowLeadingSign, System.Globalization.CultureInfo.InvariantCulture, out long b) && a == b);
}
