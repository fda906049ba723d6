using HilRunner.Core.Recordings;
using HilRunner.Core.Recordings.Import;
using HilRunner.Core.Time;

namespace HilRunner.Application.Reproducing;

/// <summary>A moment of a log that somebody complains of.</summary>
/// <param name="Motion">The stretch of the log between two gaps that holds it.</param>
/// <param name="File">The same as a recording on disk.</param>
/// <param name="At">In <paramref name="Motion"/>'s time.</param>
internal sealed record Complaint(Recording Motion, string File, StimulusTime At)
{
    /// <summary>What the log's class column says there; null: it has none, or says nothing.</summary>
    public LabelInterval? Logged { get; private init; }

    /// <summary>The moment by the log's clock; null: it has no date.</summary>
    public string? Stamp { get; private init; }

    public static Complaint Of(PlannedRecording planned, Recording motion, string file, StimulusTime at) => new(motion, file, at)
    {
        Logged = motion.Labels.FirstOrDefault(l => l.Start <= at && at < l.End),
        Stamp = planned.Origin.Ns > CustomerLog.LeastEpochNs ? CustomerLog.Stamp(planned.Origin.Ns + at.Ns) : null,
    };
}
