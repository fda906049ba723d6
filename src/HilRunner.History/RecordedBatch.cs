using System.Security.Cryptography;
using System.Text;
using HilRunner.Core.Runs;
using HilRunner.Scoring;

namespace HilRunner.History;

/// <summary>A batch of runs as history takes it in: what its folder says, nothing that is not there.</summary>
public sealed record RecordedBatch
{
    /// <summary>Of the suite, scenario or plan.</summary>
    public required string Name { get; init; }
    public required DateTimeOffset Started { get; init; }
    /// <summary>Null: it did not reach its end.</summary>
    public DateTimeOffset? Ended { get; init; }
    /// <summary>Null: it was never concluded.</summary>
    public Verdict? Verdict { get; init; }
    /// <summary>The deciding one; "" where there is none.</summary>
    public string Reason { get; init; } = "";
    public required int Planned { get; init; }
    public required string Host { get; init; }
    public string ToolVersion { get; init; } = "";
    /// <summary>Where it stands on the host that played it.</summary>
    public required string Folder { get; init; }
    public BuildIdentity Build { get; init; } = new(null, null, null);
    public required IReadOnlyList<RecordedRun> Runs { get; init; }

    /// <summary>
    /// By which definitions it came to its verdict: the earliest schema of the scores that its runs had stored.
    /// </summary>
    public int Definitions =>
        Runs.Select(r => r.StoredSchema ?? r.Score?.Schema ?? ScoreJson.Schema).DefaultIfEmpty(ScoreJson.Schema).Min();

    /// <summary>What tells it from all others, wherever its folder is moved.</summary>
    public string Key => KeyOf(Host, Started, Name);

    public static string KeyOf(string host, DateTimeOffset started, string name) =>
        Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes($"{host}\n{started.UtcDateTime:O}\n{name}")).AsSpan(0, 16));
}

/// <summary>A run of a batch.</summary>
public sealed record RecordedRun
{
    /// <summary>Name of its folder in the batch's.</summary>
    public required string Id { get; init; }
    public required string Scenario { get; init; }
    /// <summary>What was played: a digest of scenario and recordings.</summary>
    public required string Motion { get; init; }
    public int Repeat { get; init; } = 1;
    public ulong Seed { get; init; }
    public required string Rig { get; init; }
    public required string Speed { get; init; }
    public required DateTimeOffset Started { get; init; }
    public DateTimeOffset? Ended { get; init; }
    /// <summary>Of the image as the device gave it; null: it did not.</summary>
    public string? DeviceImage { get; init; }
    /// <summary>It reached its end on a healthy rig: its trials say something of the device.</summary>
    public required bool Counts { get; init; }
    /// <summary>By today's definitions. Null: never scored, or left out.</summary>
    public Score? Score { get; init; }
    /// <summary>The schema of the score that its folder holds; null: that of <see cref="Score"/>.</summary>
    public int? StoredSchema { get; init; }
    /// <summary>Why its score, of earlier definitions, is left out; null: it is not.</summary>
    public string? WhyLeftOut { get; init; }
}
