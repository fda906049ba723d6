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
    /// <summary>At a plan of this name on this image, oldest first; null: nobody looked for them when it began.</summary>
    public IReadOnlyList<EarlierAttempt>? Earlier { get; init; }
    /// <summary>From the plan: sentences.</summary>
    public required IReadOnlyList<string> Deviations { get; init; }
}

/// <summary>An attempt at the same plan on the same image, before this one.</summary>
/// <param name="Outcome">In words.</param>
/// <param name="Where">Its folder, which may be gone.</param>
public sealed record EarlierAttempt(DateTimeOffset Started, string Outcome, string Where);
