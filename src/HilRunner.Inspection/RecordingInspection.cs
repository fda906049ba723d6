using HilRunner.Inspection.Labels;
using HilRunner.Inspection.Reading;
using HilRunner.Inspection.Results;

namespace HilRunner.Inspection;

/// <summary>All that was found about one recording.</summary>
public sealed record RecordingInspection
{
    public required InspectedRecording Recording { get; init; }
    /// <summary>One step after the last sample.</summary>
    public required long EndNs { get; init; }
    public required IReadOnlyList<CheckResult> Checks { get; init; }
    /// <summary>By the time of a class, longest first.</summary>
    public required IReadOnlyList<ClassRow> Classes { get; init; }
    /// <summary>What is drawn, already reduced to what a page can show.</summary>
    public required Pictures Pictures { get; init; }

    /// <summary>The worst of the checks; what was not judged does not count.</summary>
    public Fitness Verdict => Checks.Max(c => c.Fitness) ?? Fitness.Fit;

    /// <summary>Worst first, then in the order of the checks.</summary>
    public IEnumerable<Finding> Findings => Checks.SelectMany(c => c.Findings).OrderByDescending(f => f.Fitness);

    public CheckResult this[string check] => Checks.First(c => c.Check == check);
}
