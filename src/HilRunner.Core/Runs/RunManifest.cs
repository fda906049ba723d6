using HilRunner.Core.Recordings;
using HilRunner.Core.Scenarios.Varying;
using HilRunner.Core.Time;

namespace HilRunner.Core.Runs;

/// <summary>What run.yaml holds: what was played, when, on what, and the texts needed to score it again.</summary>
public sealed record RunManifest
{
    public required string Id { get; init; }
    public required DateTimeOffset Started { get; init; }
    public DateTimeOffset? Ended { get; init; }
    /// <summary>True once the run reached its own end, whatever the verdict; false: killed or still running.</summary>
    public bool Complete { get; init; }
    public required string ToolVersion { get; init; }
    public required string Host { get; init; }
    public required SourceDocument Scenario { get; init; }
    public required SourceDocument Rig { get; init; }
    public required string ScenarioName { get; init; }
    public required string RigName { get; init; }
    /// <summary>The link that was used, as a person would name it.</summary>
    public required string Link { get; init; }
    public string? Suite { get; init; }
    public int Repeat { get; init; } = 1;
    public ulong Seed { get; init; }
    /// <summary>What its suite or plan says in place of the scenario's own hold; null: nothing.</summary>
    public long? HoldNs { get; init; }
    /// <summary>At which values the scenario was played; null: as it stands.</summary>
    public Variation? Variation { get; init; }
    /// <summary>real, max, or a factor such as 4x.</summary>
    public required string Speed { get; init; }
    /// <summary>True where a person moved the device and nothing was injected.</summary>
    public bool ByHand { get; init; }
    /// <summary>True where the rig's table moved the device and nothing was injected.</summary>
    public bool OnTable { get; init; }
    /// <summary>Whether samples were sent to the device.</summary>
    public bool Injects => !ByHand && !OnTable;
    public BuildIdentity Build { get; init; } = new(null, null, null);
    /// <summary>What the device said of itself.</summary>
    public IReadOnlyDictionary<string, string> Identity { get; init; } = new Dictionary<string, string>();
    public required SampleRate Rate { get; init; }
    /// <summary>Samples of the stimulus, lead included.</summary>
    public required int Samples { get; init; }
    public required int LeadSamples { get; init; }
    /// <summary>Of expected.csv as it was written; null in runs that have none.</summary>
    public string? ExpectedSha256 { get; init; }
    public required IReadOnlyList<string> Channels { get; init; }
    public IReadOnlyList<long> Clipped { get; init; } = [];
    public IReadOnlyList<StimulusSource> Sources { get; init; } = [];
    /// <summary>How the player ended: completed, link_lost, silent …; null: not ended.</summary>
    public string? EndCause { get; init; }
}

public sealed record SourceDocument(string Path, string Sha256, string Text);

/// <param name="Label">--build</param>
/// <param name="Image">File of the firmware image, --image.</param>
/// <param name="Sha256">Of that file.</param>
public sealed record BuildIdentity(string? Label, string? Image, string? Sha256);
