using HilRunner.Inspection.Results;

namespace HilRunner.Inspection;

/// <summary>
/// One question to a recording. A check never throws for what a recording holds: what it cannot judge it says so. Its definition
/// stands in its summary comment, its numbers in <see cref="Thresholds"/>.
/// </summary>
internal interface IRecordingCheck
{
    /// <summary>As people read it.</summary>
    string Name { get; }

    CheckResult Of(InspectionContext context);
}
