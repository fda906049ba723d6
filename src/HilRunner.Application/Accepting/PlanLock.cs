using System.Text.Json;
using System.Text.Json.Serialization;
using HilRunner.Application.Batches;
using HilRunner.Application.Benches;
using HilRunner.Core;
using HilRunner.Core.Acceptance;
using HilRunner.Core.Files;
using HilRunner.Core.Runs;
using HilRunner.Core.Signals;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Application.Accepting;

/// <param name="Path">As the plan names it.</param>
internal sealed record LockedFile(string Path, string Sha256);

/// <summary>plan.lock: all that decides what is played and how it is judged, written before anything is. Whatever differs from it afterwards is a deviation.</summary>
internal sealed record PlanLock(
    SourceDocument Plan, LockedFile Rig, IReadOnlyList<LockedFile> Scenarios, IReadOnlyList<LockedFile> Recordings, IReadOnlyList<string> Order,
    ulong Seed, string Speed, BuildIdentity Build, string ToolVersion)
{
    private const string FileName = "plan.lock";
    private static readonly JsonSerializerOptions s_style = new(JsonSerializerDefaults.Web) { WriteIndented = true,
        RespectNullableAnnotations = true, RespectRequiredConstructorParameters = true,
            Converters = { new JsonStringEnumConverter(JsonNamingPolicy.SnakeCaseLower) } };

    /// <summary>Of a plan that is tested trial by trial: where each claim's test is cut off. Empty: it is not.</summary>
    public IReadOnlyList<int> MostTrials { get; init; } = [];

    /// <summary>
    /// The definitions by which it is judged (<see cref="ScoreJson.Schema"/>); null: those of before plans named them, schema 1.
    /// </summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public int? Definitions { get; init; }

    /// <summary>What it asks of delivery, null in plans of before, which could not say: it is asked to be shown.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public DeliveryRule? Delivery { get; init; }

    /// <summary>
    /// Attempts at a plan of this name on this image, before this one; null in plans of before, which did not look.
    /// </summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public IReadOnlyList<EarlierAttempt>? Earlier { get; init; }

    [JsonIgnore]
    public bool IsOfEarlierDefinitions => (Definitions ?? 1) < ScoreJson.Schema;

    /// <summary>Of all of it: the name of this plan.</summary>
    [JsonIgnore]
    public string Sha256 => FileHash.Sha256OfText(Text);

    private string Text => JsonSerializer.Serialize(this, s_style) + "\n";

    public static bool IsIn(string folder) => File.Exists(Path.Combine(folder, FileName));

    public static PlanLock Of(
        SourceDocument document, AcceptancePlan plan, Batch batch, PlayedRig on, string speed, BuildIdentity build,
        string toolVersion)
    {
        var recordings = new List<LockedFile>();
        foreach (var item in batch.Items)
        {
            var sources = StimulusBuilder.Build(item.Scenario, item.Folder, on.Rig.Device.Input, item.Seed).Sources;
            recordings.AddRange(sources.Select(s => new LockedFile(s.Path, s.Sha256)));
        }
        return new(
            document, new(on.Document.Path, on.Document.Sha256),
            [.. batch.Items.Select(i => new LockedFile(i.Document.Path, i.Document.Sha256)).Distinct()],
            [.. recordings.Distinct()], [.. batch.Items.Select(i => i.Scenario.Name)],
                plan.Seed, speed, build, toolVersion)
        {
            Definitions = ScoreJson.Schema,
            Delivery = plan.Delivery,
            MostTrials = [.. batch.Suites.SelectMany(s => s.Sequential).Select(s => s.MostTrials)],
        };
    }

    /// <exception cref="BadInputException">The file cannot be read or used.</exception>
    public static PlanLock Read(string folder)
    {
        string path = Path.Combine(folder, FileName);
        return StoredJson.Read<PlanLock>(path, s_style, $"{FileName} as hil accept wrote it");
    }

    /// <summary>Half of an acceptance judged by one set of definitions, half by another, would be none.</summary>
    /// <exception cref="BadInputException">Its plan was fixed under earlier definitions.</exception>
    public static void RefuseEarlier(string folder)
    {
        if (!IsIn(folder) || Read(folder) is not { IsOfEarlierDefinitions: true } locked) { return; }
        throw new BadInputException([new(
            Path.Combine(folder, FileName), 0, 0, $"a plan that was fixed under earlier definitions ({locked.Definitions ?? 1})",
            $"one of definitions {ScoreJson.Schema}, which also ask whether everything arrived",
            "it is not gone on with: play the acceptance anew, without --resume; what was played of it stays where it is")]);
    }

    /// <summary>Once: an acceptance that is gone on with keeps the plan that it began with.</summary>
    public void Write(string folder)
    {
        if (!IsIn(folder)) { AtomicFile.WriteText(Path.Combine(folder, FileName), output => output.Write(Text)); }
    }

    /// <summary>What was played otherwise than planned: sentences.</summary>
    /// <param name="early">It ended early, as the plan allows.</param>
    public IEnumerable<string> Deviations(IReadOnlyList<RunManifest> runs, bool early)
    {
        foreach (var run in runs)
        {
            if (Scenarios.All(s => s.Sha256 != run.Scenario.Sha256)) { yield return $"{run.Id}: the scenario is not one of the plan's"; }
            if (run.Rig.Sha256 != Rig.Sha256) { yield return $"{run.Id}: another rig file than the plan's"; }
            foreach (var source in run.Sources.Where(s => Recordings.All(r => r.Sha256 != s.Sha256))) { yield return $"{run.Id}: {source.Path} is not the recording of the plan"; }
            if (run.Build.Sha256 != Build.Sha256 || run.Build.Label != Build.Label) { yield return $"{run.Id}: another build than the plan's"; }
            if (run.ToolVersion != ToolVersion) { yield return $"{run.Id}: another version of the tool than the plan's"; }
        }
        if (early) { yield break; }
        foreach (string missing in Order.Except(runs.Select(r => r.ScenarioName))) { yield return $"{missing} was not played"; }
    }
}
