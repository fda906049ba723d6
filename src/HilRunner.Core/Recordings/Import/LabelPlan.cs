using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings.Import;

/// <summary>The labels of each recording: cut out of the log's.</summary>
internal sealed class LabelPlan(IReadOnlyList<FileLabel>? fileLabels, bool bySamples, string labelPath, bool keepEnds)
{
    private readonly HashSet<int> _placed = [];
    private readonly Dictionary<int, long> _lastEnd = [];

    /// <param name="block">Measured.</param>
    /// <param name="samples">Of the recording.</param>
    public IReadOnlyList<LabelInterval> Of(BlockSurvey block, SampleRate rate, Placing placing, long samples)
    {
        var labels = new List<LabelInterval>();
        if (block.Changes.Count > 0) { FromColumn(block, rate, placing, samples, labels); }
        else if (fileLabels is not null) { FromFile(block, rate, samples, labels); }
        return labels;
    }

    /// <summary>What of the labels is in no recording: said, never dropped in silence.</summary>
    public IEnumerable<string> Doubts()
    {
        if (fileLabels is null) { yield break; }
        int nowhere = fileLabels.Count - _placed.Count;
        if (nowhere > 0)
        {
            var first = fileLabels.Select((l, i) => (l, i)).First(p => !_placed.Contains(p.i)).l;
            yield return $"{labelPath}:{first.Line}: {nowhere} label{(nowhere == 1 ? " lies" : "s lie")} in no recording, the first of them {first.Class}: check clock, numbering and where of the labels";
        }
        if (keepEnds) { yield break; }
        for (int i = 0; i < fileLabels.Count; i++)
        {
            var label = fileLabels[i];
            if (label.End == long.MaxValue || !_lastEnd.TryGetValue(i, out long end) || end >= label.End) { continue; }
            string beyond = bySamples ? $"{label.End - end} samples" : new StimulusTime(label.End - end).ToString();
            yield return $"{labelPath}:{label.Line}: {label.Class} lasts {beyond} beyond the end of the motion: cut there";
        }
    }

    private static void FromColumn(BlockSurvey block, SampleRate rate, Placing placing, long samples, List<LabelInterval> labels)
    {
        var end = rate.TimeOf(samples);
        StimulusTime At(int i) => i == block.Changes.Count ? end
            : placing == Placing.Resampled ? new(Math.Min(block.Changes[i].Ns - block.FirstNs, end.Ns)) : rate.TimeOf(block.Changes[i].Sample);
        for (int i = 0; i < block.Changes.Count; i++)
        {
            string name = block.Changes[i].Class;
            if (!string.IsNullOrWhiteSpace(name) && At(i + 1) > At(i)) { labels.Add(new(At(i), At(i + 1), name)); }
        }
    }

    private void FromFile(BlockSurvey block, SampleRate rate, long samples, List<LabelInterval> labels)
    {
        long origin = bySamples ? block.FirstRow - 1 : block.Times is null ? rate.TimeOf(block.FirstRow - 1).Ns : block.FirstNs;
        long length = bySamples ? samples : rate.TimeOf(samples).Ns;
        for (int i = FirstAfter(origin); i < fileLabels!.Count && fileLabels[i].Start - origin < length; i++)
        {
            var label = fileLabels[i];
            long start = Math.Max(0, label.Start - origin);
            long end = keepEnds ? label.End - origin : Math.Min(length, label.End == long.MaxValue ? length : label.End - origin);
            _placed.Add(i);
            _lastEnd[i] = Math.Max(_lastEnd.GetValueOrDefault(i, long.MinValue), end + origin);
            var interval = bySamples ? new LabelInterval(rate.TimeOf(start), rate.TimeOf(end), label.Class) : new LabelInterval(new(start), new(end), label.Class);
            if (interval.End > interval.Start) { labels.Add(interval); }
        }
        if (keepEnds)
        {
            // What lies beyond the end of a recording in the native form stays: it is for its reader to cut.
            for (int i = 0; i < fileLabels.Count; i++)
            {
                if (fileLabels[i].Start - origin < length || !_placed.Add(i)) { continue; }
                labels.Add(new(new(fileLabels[i].Start - origin), new(fileLabels[i].End - origin), fileLabels[i].Class));
            }
        }
    }

    /// <summary>Index of the first label that ends after a moment: they are in order and do not overlap.</summary>
    private int FirstAfter(long moment)
    {
        int low = 0, high = fileLabels!.Count;
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (fileLabels[middle].End > moment) { high = middle; } else { low = middle + 1; }
        }
        return low;
    }
}
