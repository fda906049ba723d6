using HilRunner.Core.Files;
using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings;

/// <summary>Labels on their way in: a line number to each, so that what is wrong can be found.</summary>
internal sealed class LabelTable(FaultList faults)
{
    /// <summary>Most labels of one recording.</summary>
    public const int MostLabels = 200_000;

    private readonly List<(LabelInterval Label, int Line)> _labels = [];

    public void Add(LabelInterval label, int line)
    {
        if (label.Start.Ns < 0)
        {
            faults.Add(line, 0, $"a label that starts {new StimulusTime(-label.Start.Ns)} before the first sample", "a start within the recording");
            return;
        }
        if (label.End <= label.Start)
        {
            faults.Add(line, 0, $"a label from {label.Start} to {label.End}", "an end after the start");
            return;
        }
        if (_labels.Count == MostLabels)
        {
            faults.Add(line, 0, "one label more", $"at most {MostLabels} labels");
            return;
        }
        _labels.Add((label, line));
    }

    /// <summary>By start. Overlaps become faults. A label may end after the recording: whoever uses it cuts it there.</summary>
    public IReadOnlyList<LabelInterval> Sorted()
    {
        _labels.Sort((a, b) => (a.Label.Start, a.Line).CompareTo((b.Label.Start, b.Line)));
        for (int i = 1; i < _labels.Count; i++)
        {
            var (before, beforeLine) = _labels[i - 1];
            var (label, line) = _labels[i];
            if (label.Start < before.End)
            {
                faults.Add(Math.Max(line, beforeLine), 0,
                    $"{label.Class} from {label.Start}, while {before.Class} (line {Math.Min(line, beforeLine)}) lasts until {before.End}",
                    "labels that do not overlap");
            }
        }
        return _labels.ConvertAll(l => l.Label);
    }
}
