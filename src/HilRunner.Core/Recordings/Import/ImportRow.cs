namespace HilRunner.Core.Recordings.Import;

internal enum RowOutcome
{
    Taken,
    /// <summary>where says that it belongs elsewhere.</summary>
    LeftOut,
    /// <summary>Cannot be read; a fault says why.</summary>
    Bad,
    /// <summary>The second file has nothing at its time.</summary>
    WithoutPartner,
}

/// <summary>One row of a log, overwritten by the next.</summary>
internal sealed class ImportRow(int channels)
{
    private readonly char[] _texts = new char[channels * NumberText.Longest];
    private readonly int[] _lengths = new int[channels];
    private readonly char[] _timeText = new char[NumberText.Longest];
    private int _timeLength;

    /// <summary>1-based, of all rows of data.</summary>
    public long Number { get; set; }
    public int Line { get; set; }
    /// <summary>Lines that it stands on; more than one is a bad row, and counts as so many.</summary>
    public int Lines { get; set; } = 1;
    public RowOutcome Outcome { get; set; }
    /// <summary>0 where there is no time column.</summary>
    public long Ns { get; private set; }
    /// <summary>The time as it stands in the file.</summary>
    public ReadOnlySpan<char> TimeText => _timeText.AsSpan(0, _timeLength);

    public string Label { get; set; } = "";
    public string Key { get; set; } = "";

    /// <summary>In the unit of the recording's column.</summary>
    public double[] Values { get; } = new double[channels];

    /// <summary>The number as it goes into the recording.</summary>
    public ReadOnlySpan<char> Text(int channel) => _texts.AsSpan(channel * NumberText.Longest, _lengths[channel]);

    public void SetTime(long ns, ReadOnlySpan<char> text)
    {
        Ns = ns;
        _timeLength = Math.Min(text.Length, _timeText.Length);
        text[.._timeLength].CopyTo(_timeText);
    }

    public Span<char> Slot(int channel) => _texts.AsSpan(channel * NumberText.Longest, NumberText.Longest);

    public void SetLength(int channel, int length) => _lengths[channel] = length;

    /// <summary>All but the channels.</summary>
    public void TakeFrom(ImportRow row)
    {
        (Number, Line, Lines, Outcome, Label, Key) = (row.Number, row.Line, row.Lines, row.Outcome, row.Label, row.Key);
        SetTime(row.Ns, row.TimeText);
    }

    public void CopyChannels(ImportRow from, int to)
    {
        for (int i = 0; i < from._lengths.Length; i++)
        {
            from.Text(i).CopyTo(Slot(to + i));
            (_lengths[to + i], Values[to + i]) = (from._lengths[i], from.Values[i]);
        }
    }
}
