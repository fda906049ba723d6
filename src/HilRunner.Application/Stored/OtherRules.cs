using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;

namespace HilRunner.Application.Stored;

/// <summary>What a person asks a stored run to be judged by, in place of what its scenario says; null: as it says.</summary>
internal sealed record OtherRules
{
    public IReadOnlyList<Limit>? Limits { get; init; }
    public long? WithinNs { get; init; }
    public long? GraceNs { get; init; }
    public long? HoldNs { get; init; }
    public long? EarlyNs { get; init; }
    public IReadOnlyList<string>? Events { get; init; }
    /// <summary>What comes after it is not judged.</summary>
    public StimulusTime? End { get; init; }

    /// <summary>As the options name them: "--within 4 s and --limits strict.yaml".</summary>
    public required string Words { get; init; }

    /// <exception cref="UsageException">There are momentary classes and nothing says within.</exception>
    public ScoringRules On(ScoringRules rules)
    {
        var judged = rules with
        {
            Limits = Limits ?? rules.Limits,
            WithinNs = WithinNs ?? rules.WithinNs,
            GraceNs = GraceNs ?? rules.GraceNs,
            HoldNs = HoldNs ?? rules.HoldNs,
            EarlyNs = EarlyNs ?? rules.EarlyNs,
            Events = Events ?? rules.Events,
        };
        return judged.Events.Count > 0 && judged.WithinNs is null ? throw new UsageException("score: --event needs --within")
            : judged;
    }
}
