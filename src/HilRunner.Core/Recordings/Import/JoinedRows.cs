using HilRunner.Core.Files;

namespace HilRunner.Core.Recordings.Import;

/// <summary>Two files of one recording, row by row: both have as many rows.</summary>
internal sealed class RowJoin(LogRows main, LogRows partner, string partnerPath, FaultList faults) : IImportRows
{
    private bool _ended;

    public IReadOnlyList<ChannelPlan> Channels { get; } = [.. main.Channels, .. partner.Channels];
    public bool HasTime => main.HasTime;
    public bool HasLabel => main.HasLabel;
    public ImportRow Row { get; } = new(main.Channels.Count + partner.Channels.Count);

    public bool MoveNext()
    {
        bool first = main.MoveNext(), second = partner.MoveNext();
        if (first != second && !_ended)
        {
            _ended = true;
            string which = first ? $"the end of {FoundText.Show(partnerPath)} after {partner.Row.Number} rows" : $"the end after {main.Row.Number} rows, before that of {FoundText.Show(partnerPath)}";
            faults.Add(main.Row.Line, 0, which, "as many rows in both files", "cut the longer one, or join by time");
        }
        if (!first) { return false; }
        Row.TakeFrom(main.Row);
        Row.CopyChannels(main.Row, 0);
        if (!second) { Row.Outcome = RowOutcome.WithoutPartner; }
        else
        {
            Row.CopyChannels(partner.Row, main.Channels.Count);
            if (main.Row.Outcome == RowOutcome.Taken && partner.Row.Outcome != RowOutcome.Taken) { Row.Outcome = partner.Row.Outcome; }
        }
        return true;
    }

    public void Dispose()
    {
        main.Dispose();
        partner.Dispose();
    }
}

/// <summary>
/// Two files of one recording by their stamps: the second is interpolated, straight between its neighbours, at the stamps of the
/// first. Where it has a gap or nothing yet, rows of the first are without partner.
/// </summary>
internal sealed class TimeJoin(LogRows main, LogRows partner, StepRule partnerSteps, FaultList faults) : IImportRows
{
    /// <summary>Interpolated across at most this many usual steps of the second file.</summary>
    private const double LongestBridge = 2.5;

    private readonly ImportRow _before = new(partner.Channels.Count), _after = new(partner.Channels.Count);
    private bool _hasBefore, _hasAfter, _ended;

    public IReadOnlyList<ChannelPlan> Channels { get; } = [.. main.Channels, .. partner.Channels];
    public bool HasTime => true;
    public bool HasLabel => main.HasLabel;
    public ImportRow Row { get; } = new(main.Channels.Count + partner.Channels.Count);

    public bool MoveNext()
    {
        if (!main.MoveNext()) { return false; }
        Row.TakeFrom(main.Row);
        Row.CopyChannels(main.Row, 0);
        if (Row.Outcome != RowOutcome.Taken) { return true; }
        while (!_ended && (!_hasAfter || _after.Ns < Row.Ns)) { Advance(); }
        int to = main.Channels.Count;
        if (_hasAfter && _after.Ns == Row.Ns) { Row.CopyChannels(_after, to); }
        else if (_hasBefore && _before.Ns == Row.Ns) { Row.CopyChannels(_before, to); }
        else if (_hasBefore && _hasAfter && _before.Ns < Row.Ns && _after.Ns > Row.Ns && _after.Ns - _before.Ns <= LongestBridge * partnerSteps.NominalNs) { Interpolate(to); }
        else { Row.Outcome = RowOutcome.WithoutPartner; }
        return true;
    }

    public void Dispose()
    {
        main.Dispose();
        partner.Dispose();
    }

    private void Advance()
    {
        do
        {
            if (!partner.MoveNext())
            {
                _ended = true;
                return;
            }
        }
        while (partner.Row.Outcome != RowOutcome.Taken);
        if (_hasAfter && partner.Row.Ns <= _after.Ns)
        {
            faults.Add(partner.Row.Line, 0, "a stamp that is not later than the one before", "later stamps, since the file is joined by time", "import the two files by themselves, or join by row");
            return;
        }
        _hasBefore = _hasAfter;
        if (_hasAfter) { Copy(_after, _before); }
        Copy(partner.Row, _after);
        _hasAfter = true;
    }

    private static void Copy(ImportRow from, ImportRow to)
    {
        to.TakeFrom(from);
        to.CopyChannels(from, 0);
    }

    private void Interpolate(int to)
    {
        double share = (double)(Row.Ns - _before.Ns) / (_after.Ns - _before.Ns);
        for (int i = 0; i < partner.Channels.Count; i++)
        {
            double value = _before.Values[i] + share * (_after.Values[i] - _before.Values[i]);
            value.TryFormat(Row.Slot(to + i), out int length, "R", System.Globalization.CultureInfo.InvariantCulture);
            Row.SetLength(to + i, length);
            Row.Values[to + i] = value;
        }
    }
}
