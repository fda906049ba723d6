using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Scoring;

namespace HilRunner.Reporting;

/// <summary>A run as a report shows it: everything comes from the run's folder.</summary>
public sealed record StoredRun
{
    /// <summary>The run's folder.</summary>
    public required string Folder { get; init; }
    public required RunManifest Manifest { get; init; }
    public required Score Score { get; init; }
    public required IReadOnlyList<ReferenceInterval> Reference { get; init; }
    public required IReadOnlyList<Decision> Decisions { get; init; }
    public required IReadOnlyList<PlayoutRow> Playout { get; init; }
    public required StimulusTime End { get; init; }
    /// <summary>Channel name → samples in g or °/s, from the first stimulus sample on, at the manifest's rate.</summary>
    public required IReadOnlyDictionary<string, double[]> Motion { get; init; }
    /// <summary>Moved by hand: when each prompt's motion began, and how that is known. Empty: it was played.</summary>
    public IReadOnlyList<HandOnset> Onsets { get; init; } = [];
    /// <summary>Moved by hand: what marks.csv holds.</summary>
    public IReadOnlyList<HandMark> Marks { get; init; } = [];
    /// <summary>Moved by the rig's table: what it made. Null: it was not.</summary>
    public TableReview? Table { get; init; }
    public required RunTiming Timing { get; init; }
    /// <summary>What the rig had to keep to.</summary>
    public HealthLimits HealthLimits { get; init; } = new();
    /// <summary>The device fell silent on a link that was there, and nothing brought an answer so far.</summary>
    public bool StillSilent { get; init; }
    /// <summary>Rig and device trouble on the stimulus axis: resets, silences, lost link, starved credit.</summary>
    public IReadOnlyList<RunIncident> Incidents { get; init; } = [];
    /// <summary>Classes in the order of the rig file, for fixed colours; classes that turn up beside them come after.</summary>
    public IReadOnlyList<string> ClassOrder { get; init; } = [];
    /// <summary>Event classes, grace and within of the scenario.</summary>
    public required Core.Scenarios.ScoringRules Rules { get; init; }

    /// <summary>Without what only the run's own report shows: so many runs of a suite can be kept.</summary>
    public StoredRun WithoutCurves() => this with { Motion = new Dictionary<string, double[]>(), Playout = [], Decisions = [] };
}

/// <param name="At">Null where it cannot be placed on the stimulus axis.</param>
public sealed record RunIncident(StimulusTime? At, string What);
