using HilRunner.Application.Motions;
using HilRunner.Core;
using HilRunner.Core.Files;
using HilRunner.Core.Runs;
using HilRunner.Scoring;
using HilRunner.Scoring.Pooling;

namespace HilRunner.Application.Stored;

/// <summary>
/// A run as its folder has it: its manifest and the score that was stored. What was scored by earlier definitions is scored again
/// from its capture, and nothing is written: figures of two definitions are never put side by side.
/// </summary>
/// <param name="Score">
/// By today's definitions. Null: there is none yet, or it cannot be had: see <see cref="WhyLeftOut"/>.
/// </param>
internal sealed record ScoredRun(string Folder, RunManifest Manifest, Score? Score)
{
    /// <summary>Digits of a motion's digest.</summary>
    private const int DigestDigits = 32;

    /// <summary>The schema of the score that was stored; null: there is none.</summary>
    public int? StoredSchema { get; init; }

    /// <summary>Why what was scored by earlier definitions cannot be scored again; null: it can, or need not.</summary>
    public string? WhyLeftOut { get; init; }

    public bool IsScoredAgain => Score is not null && StoredSchema < ScoreJson.Schema;

    /// <summary>It reached its end on a healthy rig: its trials say something of the device.</summary>
    public bool Counts => Manifest.Complete && Score is { } score && !score.Health.Incomplete && score.Health.Faults.Count == 0 && score.Verdict != Verdict.Error;

    /// <summary>What was played: a digest of scenario and recordings.</summary>
    public string Motion => FileHash.Sha256OfText(string.Join(' ', Manifest.Sources.Select(s => s.Sha256).Order(StringComparer.Ordinal).Prepend(Manifest.Scenario.Sha256)))[..DigestDigits];

    /// <summary>Where the motion of each trial comes from.</summary>
    /// <param name="pairs">Recordings of its batch that hold the same motion.</param>
    public IReadOnlyDictionary<(string Class, long StartNs), TrialMotion> Motions(IReadOnlyList<SameMotion> pairs)
    {
        string expected = Path.Combine(Folder, RunFiles.Expected);
        if (Score is null || Manifest.ByHand || !PlainFile.IsThere(expected)) { return new Dictionary<(string, long),
            TrialMotion>(); }
        var reference = ExpectedFile.Read(expected);
        var same = SameMotions.Stored(pairs, [Manifest]);
        var motions = new Dictionary<(string, long), TrialMotion>();
        foreach (var trial in Score.Outputs.SelectMany(o => o.Trials))
        {
            motions.TryAdd((trial.Class, trial.StartNs), same.On(TrialMotion.Of(Manifest, reference, trial)));
        }
        return motions;
    }

    /// <summary>The image's hash: of the file that was given, else as the device answered it; null: neither.</summary>
    public string? Image => Manifest.Build.Sha256 ?? Manifest.Identity.GetValueOrDefault("image");

    /// <exception cref="BadInputException">A file of it is missing or damaged.</exception>
    public static ScoredRun Read(JobContext context, string folder)
    {
        var manifest = RunManifestFile.Read(Path.Combine(folder, RunFiles.Manifest));
        if (RunConclusion.Stored(folder) is not { } stored) { return new(folder, manifest, null); }
        return stored.Schema == ScoreJson.Schema
            ? new(folder, manifest, stored) { StoredSchema = stored.Schema } : Again(context, folder, manifest, stored.Schema);
    }

    private static ScoredRun Again(JobContext context, string folder, RunManifest manifest, int schema)
    {
        string? why = PlainFile.IsThere(Path.Combine(folder, RunFiles.Capture)) ? null : $"{RunFiles.Capture} is missing";
        try
        {
            if (why is null)
            {
                return new(folder, manifest, RunConclusion.Review(context, folder, AdapterLeave.None).Score)
                {
                    StoredSchema = schema,
                };
            }
        }
        catch (BadInputException damaged) { why = damaged.Faults[0].ToString(); }
        return new(folder, manifest, null) { StoredSchema = schema, WhyLeftOut = why };
    }
}
