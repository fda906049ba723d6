using HilRunner.Core.Acceptance;

namespace HilRunner.Reporting;

/// <summary>All that an acceptance's evidence says.</summary>
public sealed record Evidence
{
    /// <summary>On every part of it.</summary>
    public required string Id { get; init; }
    public required AcceptancePlan Plan { get; init; }
    public required string PlanText { get; init; }
    /// <summary>Of all that was fixed before the first run.</summary>
    public required string PlanSha256 { get; init; }
    public required SuiteResult Result { get; init; }
    /// <summary>Every run that was started.</summary>
    public required IReadOnlyList<StoredRun> Runs { get; init; }
    /// <summary>Kind, path, SHA-256.</summary>
    public required IReadOnlyList<(string Kind, string Path, string Sha256)> Files { get; init; }
    /// <summary>From the plan: sentences.</summary>
    public required IReadOnlyList<string> Deviations { get; init; }
}
