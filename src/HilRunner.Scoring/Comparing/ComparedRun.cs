using HilRunner.Core.Runs;
using HilRunner.Scoring.Pooling;

namespace HilRunner.Scoring.Comparing;

/// <summary>A run of one of two builds that are compared. It reached its end, on a healthy rig.</summary>
public sealed record ComparedRun
{
    /// <summary>Its name; of a varied scenario with the values.</summary>
    public required string Scenario { get; init; }
    /// <summary>What was played: hashes of scenario and recordings. Runs of one scenario with another motion are not paired.</summary>
    public required string Motion { get; init; }
    /// <summary>Where it was played: runs are exchanged only with runs on the same rig.</summary>
    public string Rig { get; init; } = "";
    public int Repeat { get; init; } = 1;
    public required IReadOnlyList<OutputScore> Outputs { get; init; }
    public required DeviceHealth Device { get; init; }
    /// <summary>Whether report latencies can be known in it.</summary>
    public bool ReportKnown { get; init; }
    /// <summary>Where a trial's motion comes from, by its start and class; what is not in it stands for itself.</summary>
    public IReadOnlyDictionary<(string Class, long StartNs), TrialMotion> Motions { get; init; } =
        new Dictionary<(string Class, long StartNs), TrialMotion>();
    /// <summary>Where its report stands, for whoever lists trials.</summary>
    public string Folder { get; init; } = "";

    internal TrialMotion MotionOf(TrialScore trial) =>
        Motions.GetValueOrDefault((trial.Class, trial.StartNs)) ?? new($"{Scenario} {Motion}", trial.StartNs, trial.EndNs, null);

    /// <summary>For how long the device was seen: to the end of its last trial.</summary>
    internal double SecondsSeen => Outputs.SelectMany(o => o.Trials).Select(t => t.EndNs / 1e9).DefaultIfEmpty().Max();
}
