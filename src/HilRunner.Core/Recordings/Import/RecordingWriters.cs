using System.Text;
using HilRunner.Core.Files;
using HilRunner.Core.Recordings.Parquet;

namespace HilRunner.Core.Recordings.Import;

/// <summary>
/// Takes the samples of one recording in their order and writes them as they come. This is also the place for what is done to
/// whole recordings on their way in: a stage that takes samples and hands others on, as <see cref="HermiteStage"/> does.
/// </summary>
internal interface ISampleSink : IDisposable
{
    /// <param name="time">As text, in seconds; empty where the recording has no time column.</param>
    /// <param name="row">Its channels.</param>
    /// <param name="ns">Since the first sample, where the log has stamps.</param>
    void Sample(ReadOnlySpan<char> time, long ns, ImportRow row);

    /// <summary>The recording is there under its name.</summary>
    void Complete();
}

/// <summary>NAME.csv, NAME.labels.csv, NAME.yaml.</summary>
internal sealed class CsvRecordingWriter : ISampleSink
{
    private readonly string _path;
    private readonly NewFile _file;
    private readonly StreamWriter _writer;
    private readonly PlannedRecording _plan;
    private readonly RecordingInfo _info;
    private readonly bool _hasTime;
    private readonly int _channels;

    public CsvRecordingWriter(string path, PlannedRecording plan, IReadOnlyList<ChannelPlan> channels, RecordingInfo info)
    {
        (_path, _plan, _info, _channels) = (path, plan, info, channels.Count);
        _hasTime = plan.Placing == Placing.Stamps;
        _file = new(path);
        _writer = new StreamWriter(_file.Stream, new UTF8Encoding(false), 1 << 16) { NewLine = "\n" };
        _writer.Write((_hasTime ? "t_s," : "") + string.Join(',', channels.Select(c => c.Column)) + "\n");
    }

    public void Sample(ReadOnlySpan<char> time, long ns, ImportRow row)
    {
        if (_hasTime)
        {
            _writer.Write(time);
            _writer.Write(',');
        }
        for (int i = 0; i < _channels; i++)
        {
            if (i > 0) { _writer.Write(','); }
            _writer.Write(row.Text(i));
        }
        _writer.Write('\n');
    }

    public void Complete()
    {
        _writer.Dispose();
        AtomicFile.WriteText(Path.ChangeExtension(_path, ".yaml"), w => SideFile.Write(w, _info, _plan.Rate));
        string labels = Path.ChangeExtension(_path, ".labels.csv");
        if (_plan.Labels.Count > 0) { AtomicFile.WriteText(labels, w => NativeLabels.Write(w, _plan.Labels, ClockOf(_plan))); }
        else { PlainFile.Delete(labels); }
        _file.Complete();
    }

    public void Dispose()
    {
        try { _writer.Dispose(); }
        finally { _file.Dispose(); }
    }

    /// <summary>Labels stand on the clock of the time column.</summary>
    public static long ClockOf(PlannedRecording plan) => plan.KeepsClock ? plan.Origin.Ns : 0;
}

/// <summary>NAME.parquet.</summary>
internal sealed class ParquetRecordingWriter : ISampleSink
{
    private readonly ParquetTable _table;
    private readonly PlannedRecording _plan;
    private readonly RecordingInfo _info;
    private readonly int _time;
    private readonly int _channels;

    /// <param name="forms">Of the stamps (null: none are written) and the channels.</param>
    public ParquetRecordingWriter(string path, PlannedRecording plan, IReadOnlyList<ChannelPlan> channels, NumberForm? time, NumberForm[] forms, RecordingInfo info)
    {
        (_plan, _info, _channels, _time) = (plan, info, channels.Count, time is null ? 0 : 1);
        var columns = channels.Select((c, i) => (c.Column, forms[i]));
        _table = new(path, [.. time is null ? columns : columns.Prepend(("t_s", time))]);
    }

    public void Sample(ReadOnlySpan<char> time, long ns, ImportRow row)
    {
        if (_time > 0) { _table.Cell(0, time, double.NaN); }
        for (int i = 0; i < _channels; i++) { _table.Cell(_time + i, row.Text(i), row.Values[i]); }
        _table.EndRow();
    }

    public void Complete() => _table.Complete(ParquetRecording.Metadata(_info, _plan.Rate, _plan.Labels, CsvRecordingWriter.ClockOf(_plan)));

    public void Dispose() => _table.Dispose();
}
