using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Plans;

/// <summary>
/// All that a player needs for one run or recording, worked out beforehand: finished frames and when each is due. The player adds
/// nothing to it; what comes back is the capture.
/// </summary>
public sealed record PlayPlan
{
    /// <summary>Folder of the run; the player writes link.pcapng and playout.csv there.</summary>
    public required string Folder { get; init; }
    public required SampleRate Rate { get; init; }
    /// <summary>Stimulus seconds per host second; null: as fast as the device's credit allows.</summary>
    public decimal? Speed { get; init; }
    /// <summary>Samples to send, lead included.</summary>
    public required int SampleCount { get; init; }
    public required int LeadSamples { get; init; }
    public required int SamplesPerFrame { get; init; }
    /// <summary>Empty: the device has no such message.</summary>
    public byte[] Begin { get; init; } = [];
    public byte[] End { get; init; } = [];
    /// <summary>How long to listen without sending samples, after the lead; null: samples are played.</summary>
    public long? ListenNs { get; init; }
    /// <summary>Listening: makes the device say what it measures, and ends that. Empty: the device has no such message.</summary>
    public byte[] StreamOn { get; init; } = [];
    public byte[] StreamOff { get; init; } = [];
    /// <summary>Listening: the device is at fault when it says no measured sample for longer than the rig allows.</summary>
    public bool NeedsMeasured { get; init; }
    /// <summary>What the device must answer to the identity question, by group: the version itself, the image's whole hash. Otherwise nothing is played.</summary>
    public IReadOnlyDictionary<string, string> Expected { get; init; } = new Dictionary<string, string>();
    /// <summary>Name of the capture in <see cref="Folder"/>.</summary>
    public string CaptureName { get; init; } = RunFiles.Capture;
    /// <summary>
    /// Nothing is played: the device is only asked whether it is there, after this was done to it from outside (a word of
    /// <see cref="Playing.RevivalBy"/>), and only on a link that was open all the time. "": a run.
    /// </summary>
    public string AskAfter { get; init; } = "";
    /// <summary>All frames, one after another.</summary>
    public required byte[] Frames { get; init; }
    /// <summary>Where each frame ends in <see cref="Frames"/>, ascending.</summary>
    public required int[] FrameEnds { get; init; }

    /// <summary>Number of the first and one past the last sample in frame <paramref name="frame"/>, counted from the lead's first.</summary>
    public (int First, int End) SamplesOf(int frame) =>
        (frame * SamplesPerFrame, Math.Min((frame + 1) * SamplesPerFrame, SampleCount));

    /// <summary>Asks a silent device, and plays nothing.</summary>
    /// <param name="folder">Of the run that it was silent in.</param>
    /// <param name="by">What was done to it, a word of <see cref="Playing.RevivalBy"/>.</param>
    /// <param name="captureName">What was said goes there.</param>
    public static PlayPlan Ask(string folder, string by, string captureName) => new()
    {
        Folder = folder,
        Rate = new(1_000),
        SampleCount = 0,
        LeadSamples = 0,
        SamplesPerFrame = 1,
        CaptureName = captureName,
        AskAfter = by,
        Frames = [],
        FrameEnds = [],
    };

    public ReadOnlyMemory<byte> Frame(int frame)
    {
        int start = frame == 0 ? 0 : FrameEnds[frame - 1];
        return Frames.AsMemory(start, FrameEnds[frame] - start);
    }

    /// <summary>
    /// When a frame is due, in host ns since the first frame's lead began: when its last sample would have been measured.
    /// </summary>
    public long DueNs(int frame)
    {
        if (Speed is not { } speed) { throw new InvalidOperationException("nothing is due where the device sets the pace"); }
        return (long)decimal.Round(Rate.TimeOf(SamplesOf(frame).End - 1).Ns / speed);
    }
}
