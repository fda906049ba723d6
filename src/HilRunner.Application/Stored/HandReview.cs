using HilRunner.Core.Capture;
using HilRunner.Core.Files;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Engine.Prompting;
using HilRunner.Reporting;

namespace HilRunner.Application.Stored;

/// <summary>What a run that was moved by hand is held against, out of its folder: prompts, marks, and the motion where the device says it.</summary>
internal sealed class HandReview
{
    private readonly MeasuredMotion? _motion;

    private HandReview(PromptSchedule schedule, IReadOnlyList<HandMark> marks, MeasuredMotion? motion)
    {
        _motion = motion;
        Marks = [.. marks.Where(m => m.Kind != HandMarkKind.Motion).Concat(motion?.Onsets(schedule) ?? []).OrderBy(m => m.At).ThenBy(m => m.Kind)];
        Onsets = HandReference.Onsets(schedule, Marks);
        Reference = HandReference.Intervals(schedule, Onsets);
    }

    public IReadOnlyList<HandMark> Marks { get; }
    public IReadOnlyList<HandOnset> Onsets { get; }
    public IReadOnlyList<ReferenceInterval> Reference { get; }

    public IEnumerable<RunIncident> Incidents => _motion is { Lost: > 0 } lossy
        ? [new(null, $"{lossy.Lost} of the device's own samples were lost: where they are missing, the motion shown stands still")]
        : [];

    public static HandReview Of(
        ICaptureStore captures, PromptSchedule schedule, Rig rig, IDecoderSource decoders, string folder)
    {
        string marks = Path.Combine(folder, RunFiles.Marks), capture = Path.Combine(folder, RunFiles.Capture);
        MeasuredMotion? motion = null;
        if (rig.Device.Says.Sample is not null && PlainFile.IsThere(capture))
        {
            using var reader = captures.Open(capture);
            motion = MeasuredMotion.Read(rig.Device, decoders, reader);
        }
        return new(schedule, PlainFile.IsThere(marks) ? MarksFile.Read(marks) : [], motion is { Any: true } ? motion : null);
    }

    public IReadOnlyDictionary<string, double[]> Motion(StimulusTime end) => _motion?.OnAxis(end) ?? new Dictionary<string, double[]>();
}
