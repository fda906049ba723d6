using HilRunner.Core.Scenarios;

namespace HilRunner.Core.Acceptance;

/// <summary>What a device is to show before a field trial, on which recordings, and how sure that must be. Fixed before the first run.</summary>
public sealed record AcceptancePlan
{
    public required string Name { get; init; }
    /// <summary>Scenario files: the pool of recordings, each played once.</summary>
    public required IReadOnlyList<string> Scenarios { get; init; }
    /// <summary>Each with a confidence; judged once, over the independent trials of all runs.</summary>
    public required IReadOnlyList<Limit> Claims { get; init; }
    /// <summary>How long a state must hold without a break to be recognised, in every scenario, whatever it says
    /// itself.</summary>
    public long HoldNs { get; init; }
    /// <summary>What must be known of delivery in every run that counts.</summary>
    public DeliveryRule Delivery { get; init; } = DeliveryRule.Shown;
    /// <summary>It is meant that a device that hears nothing of what is played may be accepted.</summary>
    public bool HearingNothingIsAccepted { get; init; }
    /// <summary>Null: of one size, all of it played.</summary>
    public SequentialRule? Sequential { get; init; }
    /// <summary>Of the order and of all noise.</summary>
    public ulong Seed { get; init; } = 1;
    /// <summary>Who asked for it; null: not said.</summary>
    public string? Customer { get; init; }
    /// <summary>Who plays it, and where; null: not said.</summary>
    public string? Laboratory { get; init; }
    /// <summary>What the device is, for people; its build and its own words are in the record anyway.</summary>
    public string? Item { get; init; }
}
