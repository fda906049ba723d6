using HilRunner.Core.Files;
using HilRunner.Core.Recordings;
using HilRunner.Core.Time;

namespace HilRunner.Inspection.Reading;

/// <summary>The numbers of a data file, whatever state they are in: one sample for every line that is not blank.</summary>
internal sealed class LenientTable
{
    private readonly IReadOnlyList<ColumnUse> _columns;
    private readonly SeriesBuilder<double>[] _values;
    private readonly SeriesBuilder<long>? _times;
    private LineFaults _faults = new();
    private long _blank;
    private int _blankLine;
    private long? _originNs;

    private LenientTable(IReadOnlyList<ColumnUse> columns)
    {
        _columns = columns;
        ChannelNames = [.. columns.Where(c => c.Channel is not null).Select(c => c.Channel!)];
        _values = [.. ChannelNames.Select(_ => new SeriesBuilder<double>())];
        _times = columns.Any(c => c.IsTime) ? new() : null;
    }

    public IReadOnlyList<string> ChannelNames { get; }
    public LineFaults Faults => _faults;

    /// <summary>What to do about the first time that is none; "" where nothing is known.</summary>
    public string TimeRemedy { get; private set; } = "";

    /// <summary>Reads the rows from the one after the current on.</summary>
    /// <param name="faults">No sample at all, or too many.</param>
    public static LenientTable Read(RowReader row, IReadOnlyList<ColumnUse> columns, FaultList faults)
    {
        var table = new LenientTable(columns);
        int samples = 0;
        while (row.MoveNext())
        {
            if (row.IsBlank)
            {
                table._blankLine = table._blank++ == 0 ? row.Line : table._blankLine;
                continue;
            }
            if (++samples > MotionTable.MostSamples)
            {
                faults.Add(row.Line, 0, $"more than {MotionTable.MostSamples} samples", "a recording that fits in memory", "split the file");
                break;
            }
            table.TakeBlankLines();
            table.Take(row);
        }
        if (samples == 0) { faults.Add(0, 0, "no sample", "one line of numbers per sample"); }
        return table;
    }

    public IReadOnlyList<Series<double>> Channels() => [.. _values.Select(v => v.Build())];

    /// <summary>Less the first readable one.</summary>
    public Series<long>? TimesNs(out long originNs)
    {
        originNs = _originNs ?? 0;
        return _originNs is null ? null : _times?.Build();
    }

    /// <summary>Blank lines count only where a sample follows: at the end of a file they are usual.</summary>
    private void TakeBlankLines()
    {
        if (_blank == 0) { return; }
        _faults = _faults with
        {
            BlankLines = _faults.BlankLines + _blank,
            FirstBlankLine = _faults.BlankLines == 0 ? _blankLine : _faults.FirstBlankLine,
        };
        _blank = 0;
    }

    private void Take(RowReader row)
    {
        bool ragged = row.Count != _columns.Count;
        if (ragged) { _faults = _faults with { RaggedRows = _faults.RaggedRows + 1, FirstRaggedRow = _faults.RaggedRows == 0 ? row.Line : _faults.FirstRaggedRow }; }
        int channel = 0;
        for (int i = 0; i < _columns.Count; i++)
        {
            var use = _columns[i];
            if (use.IsTime) { _times!.Add(ragged ? InspectedRecording.NoTime : FromOrigin(Time(row, i))); }
            if (use.Channel is null) { continue; }
            _values[channel++].Add(ragged ? double.NaN : Value(row, i, use));
        }
    }

    private long FromOrigin(long ns)
    {
        if (ns == InspectedRecording.NoTime) { return ns; }
        _originNs ??= ns;
        return ns - _originNs.Value;
    }

    private double Value(RowReader row, int cell, ColumnUse use)
    {
        if (PlainNumber.TryValue(row[cell], out double number) || CsvText.TryNumber(row[cell], out number)) { return use.ToUnit(number); }
        _faults = _faults with
        {
            BadValues = _faults.BadValues + 1,
            FirstBadLine = _faults.BadValues == 0 ? row.Line : _faults.FirstBadLine,
            FirstBadValue = _faults.BadValues == 0 ? $"{FoundText.Show(row[cell])} as {use.Channel}" : _faults.FirstBadValue,
        };
        return double.NaN;
    }

    private long Time(RowReader row, int cell)
    {
        if (PlainNumber.TryNs(row[cell], out long ns)) { return ns; }
        if (CsvText.TrySeconds(row[cell], out decimal seconds)) { return StimulusTime.FromSeconds(seconds).Ns; }
        if (_faults.BadTimes == 0) { TimeRemedy = CsvText.SecondsRemedy(row[cell]); }
        _faults = _faults with { BadTimes = _faults.BadTimes + 1, FirstBadTime = _faults.BadTimes == 0 ? row.Line : _faults.FirstBadTime };
        return InspectedRecording.NoTime;
    }
}
