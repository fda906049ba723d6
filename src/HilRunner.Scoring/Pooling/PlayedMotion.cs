using HilRunner.Core.Recordings;
using HilRunner.Core.Runs;

namespace HilRunner.Scoring.Pooling;

/// <summary>
/// What was played from one moment of the stimulus to another: all of [0, end) is covered, what carries no label too. Time
/// beside a label belongs to the recording beside it: what was recorded around a labelled stretch is what is played around it.
/// </summary>
public sealed record PlayedMotion(long FromNs, long ToNs, TrialMotion Motion)
{
    /// <summary>In the order of the stimulus.</summary>
    /// <param name="reference">Of the run, as it was played.</param>
    /// <param name="sources">Recordings, in the order in which segments of the reference name them.</param>
    /// <param name="made">What stands for the motion where it comes from no recording.</param>
    /// <param name="endNs">End of the stimulus.</param>
    public static IReadOnlyList<PlayedMotion> Of(
        IReadOnlyList<ReferenceInterval> reference, IReadOnlyList<StimulusSource> sources, string made, long endNs)
    {
        ArgumentNullException.ThrowIfNull(sources);
        var labelled = reference.Where(i => i.Start.Ns < endNs && i.End.Ns > 0).OrderBy(i => i.Start.Ns).ToList();
        if (endNs <= 0) { return []; }
        if (labelled.Count == 0)
        {
            var whole = sources.Count == 1 ? new TrialMotion(sources[0].Sha256, 0, endNs, sources[0].Info.Source)
                : new TrialMotion(made, 0, endNs, null);
            return [new(0, endNs, whole)];
        }
        var parts = new List<PlayedMotion>();
        long at = 0;
        ReferenceInterval? before = null;
        foreach (var interval in labelled)
        {
            long start = interval.Start.Ns;
            if (start > at) { parts.Add(new(at, start, Unlabelled(before, interval, at, start))); }
            long from = Math.Max(at, start), to = Math.Min(interval.End.Ns, endNs);
            // Labels may overlap, as an event within a state: what is heard once counts once.
            if (to <= from) { continue; }
            parts.Add(new(from, to, Labelled(interval)));
            (at, before) = (to, interval);
        }
        if (at < endNs) { parts.Add(new(at, endNs, Unlabelled(before, null, at, endNs))); }
        return parts;

        TrialMotion Labelled(ReferenceInterval interval) =>
            SourceOf(interval) is { } source ? new(source.Sha256, interval.Segment!.Value.From.Ns, interval.Segment.Value.To.Ns,
                source.Info.Source) : new(made, interval.Start.Ns, interval.End.Ns, null);

        TrialMotion Unlabelled(ReferenceInterval? left, ReferenceInterval? right, long from, long to)
        {
            if (left is not null && SourceOf(left) is { } one)
            {
                long end = left.Segment!.Value.To.Ns;
                return new(one.Sha256, end, end + to - from, one.Info.Source);
            }
            if (left is null && right is not null && SourceOf(right) is { } other)
            {
                long begin = right.Segment!.Value.From.Ns;
                return new(other.Sha256, begin - (to - from), begin, other.Info.Source);
            }
            return new(made, from, to, null);
        }

        StimulusSource? SourceOf(ReferenceInterval interval) =>
            interval.Segment is { } segment && segment.Recording <= sources.Count ? sources[segment.Recording - 1] : null;
    }
}
