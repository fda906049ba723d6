using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;

namespace HilRunner.Scoring;

/// <summary>Everything a score follows from; nothing else may enter it.</summary>
public sealed record ScoreInput
{
    public required IReadOnlyList<ReferenceInterval> Reference { get; init; }
    /// <summary>All outputs together, in file order. <see cref="Outputs"/> names them.</summary>
    public required IReadOnlyList<Decision> Decisions { get; init; }
    /// <summary>One score per name; a device with a single output has one entry.</summary>
    public IReadOnlyList<string> Outputs { get; init; } = [""];
    /// <summary>The end T of the stimulus, or of what was played of it.</summary>
    public required StimulusTime End { get; init; }
    public ScoringRules Rules { get; init; } = new();
    public RigHealth Health { get; init; } = new();
    public DeviceHealth Device { get; init; } = new(0, 0, null);
    /// <summary>
    /// Host times (ns since stimulus sample 0 was due or sent) at which samples were played, ascending in N: for report
    /// latency. Empty: none is known, report latency is null.
    /// </summary>
    public IReadOnlyList<PlayoutRow> Playout { get; init; } = [];
    public SampleRate? Rate { get; init; }
    /// <summary>
    /// Where samples were held up on their way to the device: what is placed by a clock is known the less there.
    /// </summary>
    public IReadOnlyList<HeldUp> HeldUp { get; init; } = [];
    /// <summary>Nothing was injected: the device was moved, and stimulus time is host time.</summary>
    public bool Moved { get; init; }
    /// <summary>How the times of the run are known; null for a log that no run stands behind.</summary>
    public RunTiming? Timing { get; init; }
    /// <summary>Whether everything arrived, both ways; null for a log that no run stands behind.</summary>
    public Delivery? Delivery { get; init; }
    /// <summary>
    /// What else must stand beside the verdict, whatever it is: messages that were not understood, classes that no map holds.
    /// </summary>
    public IReadOnlyList<string> Notes { get; init; } = [];
}
