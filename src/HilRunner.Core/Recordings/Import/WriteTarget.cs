using System.Globalization;
using HilRunner.Core.Recordings.Parquet;
using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings.Import;

/// <summary>The second pass: writes every block that became a recording.</summary>
internal sealed class WriteTarget(ImportSurvey survey) : IBlockTarget, IDisposable
{
    private readonly Dictionary<int, PlannedRecording> _plans = survey.Recordings.ToDictionary(r => r.Survey.Block.Index);
    private readonly Dictionary<int, (ISampleSink Sink, PlannedRecording Plan)> _open = [];
    private readonly char[] _time = new char[40];
    private (int Block, ISampleSink Sink, PlannedRecording Plan)? _current;

    public void Begin(ImportBlock block, ImportRow first)
    {
        if (_plans.TryGetValue(block.Index, out var plan)) { _open.Add(block.Index, (Sink(plan), plan)); }
    }

    public void Row(ImportBlock block, ImportRow row)
    {
        if (_current?.Block != block.Index)
        {
            if (!_open.TryGetValue(block.Index, out var found)) { return; }
            _current = (block.Index, found.Sink, found.Plan);
        }
        var (_, sink, plan) = _current.Value;
        long ns = row.Ns - plan.Origin.Ns;
        sink.Sample(Time(plan, row, ns), ns, row);
    }

    public void End(ImportBlock block)
    {
        _current = null;
        if (!_open.Remove(block.Index, out var found)) { return; }
        using (found.Sink) { found.Sink.Complete(); }
    }

    public void Dispose()
    {
        foreach (var (sink, _) in _open.Values) { sink.Dispose(); }
    }

    private ReadOnlySpan<char> Time(PlannedRecording plan, ImportRow row, long ns)
    {
        if (plan.Placing != Placing.Stamps) { return []; }
        if (plan.KeepsClock) { return row.TimeText; }
        new StimulusTime(ns).Seconds.TryFormat(_time, out int length, "0.#########", CultureInfo.InvariantCulture);
        return _time.AsSpan(0, length);
    }

    private ISampleSink Sink(PlannedRecording plan)
    {
        string path = RecordingImport.PathOf(survey.Destination, plan);
        var channels = survey.Plan.Channels;
        var info = survey.Plan.Map.Info;
        bool resampled = plan.Placing == Placing.Resampled;
        ISampleSink sink = survey.Destination.Parquet
            ? new ParquetRecordingWriter(path, plan, channels, plan.Placing == Placing.Stamps ? TimeForm(plan) : null, resampled ? [.. channels.Select(_ => NumberForm.Double)] : plan.Survey.Forms!, info)
            : new CsvRecordingWriter(path, plan, channels, info);
        return resampled ? new HermiteStage(sink, plan.Rate, channels.Count) : sink;
    }

    private static NumberForm TimeForm(PlannedRecording plan) => plan.KeepsClock ? plan.Survey.TimeForm! : NumberForm.Seconds;
}
