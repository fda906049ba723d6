using HilRunner.Core.Recordings;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Recorders;

/// <summary>One unbroken stretch of samples on its way into one recording.</summary>
/// <param name="begins">Why it begins; empty for the first.</param>
public sealed class RecordedPart(GrowingRecording file, SampleRate rate, string begins)
{
    private int _labelsWritten;

    public string Path => file.Path;
    public int SampleCount => file.SampleCount;
    public StimulusTime Duration => rate.TimeOf(SampleCount);
    public string Begins => begins;
    public ArrivalLine Arrivals { get; } = new(rate);
    public IReadOnlyList<LabelInterval> Labels { get; private set; } = [];
    internal GrowingRecording File => file;

    internal void Add(ReadOnlySpan<double> values, HostTime at)
    {
        file.Append(values);
        Arrivals.Add(at);
    }

    /// <summary>Puts the marks on this part's samples and writes them.</summary>
    internal void Label(IReadOnlyList<LabelMark> marks)
    {
        var labels = new List<LabelInterval>();
        for (int i = 0; i < marks.Count; i++)
        {
            if (marks[i].Class is not { } name) { continue; }
            long from = Math.Clamp(Arrivals.IndexAt(marks[i].At), 0, SampleCount);
            long to = i + 1 < marks.Count ? Math.Clamp(Arrivals.IndexAt(marks[i + 1].At), 0, SampleCount) : SampleCount;
            if (to > from) { labels.Add(new(rate.TimeOf(from), rate.TimeOf(to), name)); }
        }
        Labels = labels;
        if (labels.Count == 0 && _labelsWritten == 0) { return; }
        _labelsWritten = labels.Count;
        file.Label(labels);
    }
}
