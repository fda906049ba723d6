using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Scenarios.Varying;
using HilRunner.Scoring;
using HilRunner.Scoring.Pooling;
using HilRunner.Scoring.Trivial;

namespace HilRunner.Reporting;

/// <summary>A finished (or interrupted) suite: its verdict and a summary of each run.</summary>
public sealed record SuiteResult
{
    public required string Name { get; init; }
    /// <summary>The worst of the runs that count and of the pooled limits.</summary>
    public required Verdict Verdict { get; init; }
    /// <summary>Sentences a colleague would say, the deciding one first.</summary>
    public required IReadOnlyList<string> Reasons { get; init; }
    /// <summary>In the order in which they were played.</summary>
    public required IReadOnlyList<SuiteRun> Runs { get; init; }
    public required DateTimeOffset Started { get; init; }
    /// <summary>Null: it did not reach its end.</summary>
    public DateTimeOffset? Ended { get; init; }
    /// <summary>Why the rest was not played, as its plan allows; null: all was, or it was broken off.</summary>
    public string? EndedEarly { get; init; }
    /// <summary>
    /// What devices that hear nothing would get; null: nothing is asked of what is recognised, or nobody knows what was played.
    /// </summary>
    public TrivialResult? Trivial { get; init; }
    /// <summary>Limits with a confidence, judged once over the pooled independent trials.</summary>
    public IReadOnlyList<PooledOutcome> PooledLimits { get; init; } = [];
    /// <summary>Against the baseline; null: there is none, or it is gone.</summary>
    public CompareResult? Comparison { get; init; }
    /// <summary>Address of the comparison's page, relative to the suite's.</summary>
    public string ComparisonPage { get; init; } = "";
    /// <summary>The machine that played it; "" where not known.</summary>
    public string Host { get; init; } = "";
    public string ToolVersion { get; init; } = "";
    public BuildIdentity Build { get; init; } = new(null, null, null);
    /// <summary>Of an acceptance: why delivery keeps it open; null: it does not.</summary>
    public string? WhyUndelivered { get; init; }
    /// <summary>Of the runs that count, those of which nothing shows that everything arrived.</summary>
    public int DeliveryNotShown => Runs.Count(r => r is { Counts: true, Delivery: DeliveryOutcome.NotShown });
}

/// <summary>What a suite's report and its JUnit XML say about one run.</summary>
public sealed record SuiteRun
{
    public required string Scenario { get; init; }
    public int Repeat { get; init; } = 1;
    public required Verdict Verdict { get; init; }
    /// <summary>The deciding one first; empty where the verdict needs none.</summary>
    public IReadOnlyList<string> Reasons { get; init; } = [];
    /// <summary>What stands beside the verdict, whatever it is.</summary>
    public IReadOnlyList<string> Notes { get; init; } = [];
    /// <summary>Whether everything arrived; null: the score does not say.</summary>
    public DeliveryOutcome? Delivery { get; init; }
    /// <summary>The same in words, with what shows it; "" where it is not known.</summary>
    public string DeliveryText { get; init; } = "";
    /// <summary>Scored by definitions of before today's: see <see cref="Score.Schema"/>.</summary>
    public bool EarlierDefinitions { get; init; }
    /// <summary>Address of the run's report, relative to the suite's; null: there is none.</summary>
    public string? Report { get; init; }
    /// <summary>The limits and what was measured, the deciding ones first.</summary>
    public IReadOnlyList<LimitOutcome> Limits { get; init; } = [];
    /// <summary>Every trial of every output, for the count per class.</summary>
    public IReadOnlyList<SuiteTrial> Trials { get; init; } = [];
    /// <summary>The same with where their motion comes from: which of them are independent follows from that.</summary>
    public IReadOnlyList<PlayedTrial> Played { get; init; } = [];
    /// <summary>What was played, with the false alarms in it.</summary>
    public IReadOnlyList<HeardStretch> Heard { get; init; } = [];
    /// <summary>At which values of a scenario it was played; null: as the scenario stands.</summary>
    public Variation? Variation { get; init; }
    /// <summary>What tells one varied scenario from another of the same name: the hash of its text.</summary>
    public string VariedFrom { get; init; } = "";
    /// <summary>The scenario's limits on what must be recognised.</summary>
    public IReadOnlyList<Limit> RecognisedLimits { get; init; } = [];
    public bool Incomplete { get; init; }
    /// <summary>The rig broke its health limits: the run's trials prove nothing and are not counted.</summary>
    public bool RigFault { get; init; }
    /// <summary>Played again after rig trouble: kept in the record, outside the suite's verdict and counts.</summary>
    public bool PlayedAgain { get; init; }
    /// <summary>Its trials say something of the device: it reached its end on a healthy rig and was not played again.</summary>
    public bool Counts => !PlayedAgain && !RigFault && !Incomplete && Verdict != Verdict.Error;
    public DateTimeOffset? Started { get; init; }
    public DateTimeOffset? Ended { get; init; }
    public bool Invented { get; init; }
    /// <summary>The rig's table moved the device.</summary>
    public bool OnTable { get; init; }

    /// <summary>The summary of a stored run.</summary>
    /// <param name="report">Address of its report, relative to the suite's; null: there is none.</param>
    /// <param name="playedAgain">A later run of the suite takes this one's place.</param>
    public static SuiteRun From(StoredRun run, string? report, bool playedAgain = false)
    {
        ArgumentNullException.ThrowIfNull(run);
        return new()
        {
            Scenario = run.Manifest.ScenarioName,
            Repeat = run.Manifest.Repeat,
            Verdict = run.Score.Verdict,
            Reasons = run.Score.Reasons,
            Notes = run.Score.Notes,
            Delivery = run.Score.Delivery?.Outcome,
            DeliveryText = run.Score.Delivery is { } known ? DeliveryWords.WithSource(known) : "",
            EarlierDefinitions = run.Score.Schema < ScoreJson.Schema,
            Report = report,
            Limits = LimitOrder.DecidingFirst(run.Score),
            Trials = [.. run.Score.Outputs.SelectMany(o => o.Trials.Select(t => new SuiteTrial(o.Output, t.Class, t.StartNs, t.Counted, t.Recognised) { ReactionNs = t.ReactionNs, Already = t.Already }))],
            Played = PlayedTrials.Of(run),
            Heard = PlayedTrials.HeardIn(run),
            Variation = run.Manifest.Variation,
            VariedFrom = run.Manifest.Scenario.Sha256,
            RecognisedLimits = [.. run.Rules.Limits.Where(l => l.Measure == Measure.Recognised)],
            Incomplete = run.Score.Health.Incomplete || !run.Manifest.Complete,
            RigFault = run.Score.Health.Faults.Count > 0,
            PlayedAgain = playedAgain,
            Started = run.Manifest.Started,
            Ended = run.Manifest.Ended,
            OnTable = run.Manifest.OnTable,
            Invented = run.Manifest.Sources.Any(s => s.Info.Invented),
        };
    }
}

/// <summary>One trial of one output of the device, as a suite counts it.</summary>
public sealed record SuiteTrial(string Output, string Class, long StartNs, bool Counted, bool Recognised)
{
    /// <summary>Null: missed.</summary>
    public long? ReactionNs { get; init; }
    /// <summary>The device was in the class before: its reaction says nothing.</summary>
    public bool Already { get; init; }
}
